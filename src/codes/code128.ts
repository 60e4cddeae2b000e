/** Code 128 (ISO/IEC 15417) as widths of bars and spaces. */
import { InputError } from '../errors.js';
import { bwipCode128 } from './bwip.js';
import { composeTagCode128, isSetBText } from './tag-code128.js';

/** Light modules on each side, as GS1 General Specifications 5.4.4.2 ask for. */
export const CODE128_QUIET_MODULES = 10;

export interface Code128Bars {
  /** Widths in modules: bar, space, bar ... beginning and ending with a bar. */
  readonly widths: readonly number[];
  /** Their sum: the symbol without its quiet zones. */
  readonly modules: number;
}

/**
 * The bars of `text`. Throws `InputError` (`not-ascii`): beyond ASCII the symbology needs function
 * characters that scanners read differently.
 */
export function code128Bars(text: string): Code128Bars {
  if (!/^[\x20-\x7e]+$/.test(text)) {
    throw new InputError(
      'not-ascii',
      `"${text}" cannot be a Code 128 here: it must hold printable ASCII characters only.`,
      'Use a QR code for other characters.',
    );
  }
  const widths = isSetBText(text) ? composeTagCode128(text) : bwipCode128(text);
  return { widths, modules: widths.reduce((sum, width) => sum + width, 0) };
}

/**
 * The widest symbol that a text of printable ASCII can have: start, a character each, check and stop.
 * Runs of digits make it narrower, so a layout reserves this and draws what comes.
 */
export function code128WidestModules(characterCount: number): number {
  return 11 * characterCount + 35;
}
