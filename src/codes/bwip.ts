/**
 * The only file that speaks to bwip-js. Everything that library decides by itself when not told
 * (error correction level, mask, version) is said here by name. Its export named `raw` draws another
 * kind of symbol; the `raw` of the default export gives modules.
 */
import bwipjs from 'bwip-js/node';
import { InputError } from '../errors.js';
import { BitMatrix } from './bit-matrix.js';

export type QrLevel = 'L' | 'M' | 'Q' | 'H';

export interface QrForm {
  readonly level: QrLevel;
  /** 1 to 40; absent: the smallest that holds the text. */
  readonly version?: number;
  /** Mask pattern 0 to 7 as ISO/IEC 18004 numbers them; absent: bwip-js chooses. */
  readonly mask?: number;
}

/** Draws a QR code. Throws `InputError` (`text-too-long`) when the text does not fit the form. */
export function bwipQr(text: string, form: QrForm): BitMatrix {
  const options = {
    eclevel: form.level,
    // Without this bwip-js raises the level when the version has room.
    fixedeclevel: true,
    parse: false,
    ...(form.version === undefined ? {} : { version: String(form.version) }),
    // bwip-js counts masks from 1; the standard's patterns count from 0.
    ...(form.mask === undefined ? {} : { mask: form.mask + 1 }),
  };
  const [symbol] = drawOr(
    () => bwipjs.raw('qrcode', text, options),
    (cause) => {
      const version = form.version === undefined ? 'a QR code' : `a version ${form.version} QR code`;
      return new InputError(
        'text-too-long',
        `"${text}" (${text.length} characters) does not fit ${version} at level ${form.level}.`,
        'Shorten the link, or ask for a lower level.',
        {},
        [],
        { cause },
      );
    },
  );
  if (symbol === undefined || !('pixs' in symbol)) throw new Error('bwip-js drew no modules');
  return BitMatrix.fromModules(symbol.pixx, symbol.pixs);
}

/** What was drawn; printable ASCII in a sound form can only fail by its length. */
function drawOr<T>(draw: () => T, failure: (cause: unknown) => InputError): T {
  try {
    return draw();
  } catch (cause) {
    throw failure(cause);
  }
}

/** Bars and spaces of a Code 128 symbol in modules, beginning and ending with a bar. */
export function bwipCode128(text: string): readonly number[] {
  const [symbol] = bwipjs.raw('code128', text, { parse: false, parsefnc: false });
  if (symbol === undefined || !('sbs' in symbol)) throw new Error('bwip-js drew no bars');
  return symbol.sbs;
}
