/**
 * The QR code of a tag text: version 1, level H, alphanumeric mode, one mask for ever.
 *
 * With version, level, mask and length fixed, every module is an affine function over GF(2) of the
 * data bits: the error correction is linear, the mask and all else are constants. So the symbol is
 * the one of a base text with the differences added of those bits in which the text differs. Base
 * and differences come from bwip-js, once a length; composing then costs under a microsecond, where
 * drawing anew costs 300. It also keeps a text of digits in alphanumeric mode, where an encoder left
 * to itself would change to numeric and with it most modules.
 */
import assert from 'node:assert/strict';
import { BitMatrix } from './bit-matrix.js';
import { bwipQr } from './bwip.js';
import { TAG_QR_SIZE } from './qr-block.js';

/**
 * Mask pattern of every tag, fixed for ever: reading a damaged tag rests on most modules being alike
 * on all tags. Of the eight it has the lowest mean penalty (ISO/IEC 18004, 7.8.3) over 8,000 tag
 * texts of 7 to 10 characters: 400.7; the next 413.9, the others 414.7 to 489.1.
 */
export const TAG_MASK = 6;

/** An ID of 5 to 7 characters, a dot and an issue, together at most ten: all that 1-H holds. */
const TAG_TEXT = /^(?=.{7,10}$)[0-9A-HJKMNP-TV-Z]{5,7}\.[0-9]+$/;

/** In the order of their values (ISO/IEC 18004, table 5). */
const ALPHANUMERIC = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';

/** Two characters are one number of 11 bits, an odd last one has 6 (ISO/IEC 18004, 7.4.4). */
const PAIR_BITS = 11;
const LAST_BITS = 6;

/** Not a digit, so that bwip-js stays in alphanumeric mode for it and all its one-bit neighbours. */
const BASE_CHARACTER = 'A';

/** The value of `AA`. */
const BASE_PAIR = 10 * 45 + 10;
const BASE_LAST = 10;

const MODULES = TAG_QR_SIZE * TAG_QR_SIZE;
const WORDS = Math.ceil(MODULES / 32);

interface Basis {
  readonly base: Uint32Array;
  /** `differences[group][bit]`: the modules that change with this bit of a pair or last character. */
  readonly differences: readonly (readonly Uint32Array[])[];
}

const bases = new Map<string, Basis>();

/** Whether `text` is a tag text that a version 1 symbol at level H holds. */
export function isTagText(text: string): boolean {
  return TAG_TEXT.test(text);
}

/** Whether a module of a symbol's words, counted row by row, is dark. */
export function isDark(words: Uint32Array, module: number): boolean {
  return (((words[module >> 5] as number) >>> (module & 31)) & 1) === 1;
}

/** Composes the symbol of a text for which `isTagText` holds; another mask than the tags' is for tests. */
export function composeTagQr(text: string, mask: number = TAG_MASK): BitMatrix {
  return new BitMatrix(TAG_QR_SIZE, tagQrWords(text, mask));
}

/** As `composeTagQr`: the modules row by row, 32 a word, the first in the lowest bit, dark ones set. */
export function tagQrWords(text: string, mask: number = TAG_MASK): Uint32Array {
  assert(isTagText(text), `"${text}" is not a tag text`);
  const basis = basisFor(text.length, mask);
  const words = basis.base.slice();
  for (let group = 0; 2 * group < text.length; group++) {
    const differences = basis.differences[group] ?? [];
    let toggled = groupValue(text, group) ^ (2 * group + 1 < text.length ? BASE_PAIR : BASE_LAST);
    for (let bit = 0; toggled !== 0; bit++, toggled >>= 1) {
      const difference = differences[bit];
      if ((toggled & 1) === 0 || difference === undefined) continue;
      for (let word = 0; word < WORDS; word++) words[word] = (words[word] ?? 0) ^ (difference[word] ?? 0);
    }
  }
  return words;
}

function groupValue(text: string, group: number): number {
  const first = ALPHANUMERIC.indexOf(text.charAt(2 * group));
  return 2 * group + 1 < text.length ? 45 * first + ALPHANUMERIC.indexOf(text.charAt(2 * group + 1)) : first;
}

function basisFor(length: number, mask: number): Basis {
  const key = `${length} ${mask}`;
  const known = bases.get(key);
  if (known !== undefined) return known;
  const draw = (text: string) => packed(bwipQr(text, { level: 'H', version: 1, mask }));
  const baseText = BASE_CHARACTER.repeat(length);
  const base = draw(baseText);
  const differences = Array.from({ length: Math.ceil(length / 2) }, (_, group) => {
    const isPair = 2 * group + 1 < length;
    return Array.from({ length: isPair ? PAIR_BITS : LAST_BITS }, (_, bit) => {
      const value = (isPair ? BASE_PAIR : BASE_LAST) ^ (1 << bit);
      const characters = isPair
        ? ALPHANUMERIC.charAt(Math.floor(value / 45)) + ALPHANUMERIC.charAt(value % 45)
        : ALPHANUMERIC.charAt(value);
      const text = baseText.slice(0, 2 * group) + characters + baseText.slice(2 * group + characters.length);
      return draw(text).map((word, index) => word ^ (base[index] ?? 0));
    });
  });
  const basis = { base, differences };
  bases.set(key, basis);
  return basis;
}

function packed(matrix: BitMatrix): Uint32Array {
  const words = new Uint32Array(WORDS);
  for (let index = 0; index < MODULES; index++) {
    if (matrix.dark(Math.floor(index / TAG_QR_SIZE), index % TAG_QR_SIZE)) {
      words[index >> 5] = (words[index >> 5] ?? 0) | (1 << (index & 31));
    }
  }
  return words;
}
