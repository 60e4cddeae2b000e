/** What a QR code on a tag holds, and its modules. */
import { InputError } from '../errors.js';
import type { BitMatrix } from './bit-matrix.js';
import { bwipQr, type QrLevel } from './bwip.js';
import { composeTagQr, isTagText } from './tag-qr.js';

export type { BitMatrix } from './bit-matrix.js';
export type { QrLevel } from './bwip.js';

/** Scheme and authority of a link whose path is nothing but a tag text. */
const BARE_LINK = /^(https?:\/\/[^/?#@\s]+\/)([0-9A-Z]+\.[0-9]+)$/i;

/**
 * The text as it goes into the symbol. A link without a path of its own is put in capitals, which
 * changes nothing about it (scheme and host are case-insensitive: RFC 3986, 6.2.2.1) but keeps it
 * in alphanumeric mode, and so often a version smaller.
 */
export function qrText(text: string): string {
  return BARE_LINK.test(text) ? text.toUpperCase() : text;
}

/**
 * The modules of a tag's QR code, without quiet zone.
 *
 * A tag text is always version 1-H with the tags' own mask. Anything else (a link) takes the
 * smallest version that holds it at `level`. Throws `InputError`: `not-ascii` or `text-too-long`.
 */
export function qrModules(text: string, level: QrLevel = 'H'): BitMatrix {
  if (isTagText(text)) return composeTagQr(text);
  if (!/^[\x20-\x7e]+$/.test(text)) {
    throw new InputError(
      'not-ascii',
      `"${text}" cannot be a tag's code: it must hold printable ASCII characters only.`,
      'Write other characters of a link percent-encoded, those of a host name in its ASCII form.',
    );
  }
  return bwipQr(qrText(text), { level });
}

/** The modules of a station's sign: the smallest version that holds its text at `level`. */
export function signQrModules(text: string, level: QrLevel): BitMatrix {
  return bwipQr(text, { level });
}
