/** The characters of a printed ID as they are printed, for holding against a picture. */
import { ALPHABET } from '../../ids/alphabet.js';
import shapes from './glyph-shapes.json' with { type: 'json' };

/** As drawn from the tags' typeface by `npm run golden`. */
export interface GlyphShape {
  /** How far the next character is, in samples. */
  readonly advance: number;
  /** Ink of each sample, a hexadecimal digit from 0 to f; rows from the top, with spaces between. */
  readonly rows: string;
}

/** Rows of samples above, along and below the height of capitals. */
export const SHAPE_ROWS = { above: 2, cap: 16, below: 2 } as const;
export const ROWS = SHAPE_ROWS.above + SHAPE_ROWS.cap + SHAPE_ROWS.below;

/** What lies between an ID and its issue, in samples: half of 0.06 of the type size (`sheets/compose.ts`). */
export const ISSUE_SPACE = (0.5 * 0.06 * SHAPE_ROWS.cap) / 0.668;

export interface Glyph {
  readonly advance: number;
  readonly width: number;
  readonly rows: number;
  /** Ink from 0 to 1, row by row. */
  readonly ink: Float32Array;
  /** The same less its mean, and the mean square of that. */
  readonly centred: Float32Array;
  readonly variance: number;
}

export interface GlyphSet {
  /** In the order of the alphabet. */
  readonly id: readonly Glyph[];
  /** `.`, then the digits. */
  readonly issue: readonly Glyph[];
}

/** The characters as seen through a blur of `sigma` samples (standard deviation), `shrink` times smaller. */
export function glyphSet(sigma: number, shrink: 1 | 2): GlyphSet {
  const glyph = (shape: GlyphShape): Glyph => seen(shape, sigma, shrink);
  return {
    id: [...ALPHABET].map((character) =>
      glyph((shapes.id as Record<string, GlyphShape>)[character] as GlyphShape),
    ),
    issue: [...'.0123456789'].map((character) =>
      glyph((shapes.issue as Record<string, GlyphShape>)[character] as GlyphShape),
    ),
  };
}

const sets = new Map<number, GlyphSet>();

/** The characters through a blur, made once. */
export function glyphSetOf(sigma: number): GlyphSet {
  const set = sets.get(sigma) ?? glyphSet(sigma, 1);
  sets.set(sigma, set);
  return set;
}

function seen({ advance, rows }: GlyphShape, sigma: number, shrink: 1 | 2): Glyph {
  const lines = rows.split(' ');
  const from = (lines[0] as string).length;
  const width = Math.ceil(from / shrink);
  const height = ROWS / shrink;
  const sharp = new Float32Array(width * height);
  for (let y = 0; y < ROWS; y++) {
    for (let x = 0; x < from; x++) {
      const at = Math.floor(y / shrink) * width + Math.floor(x / shrink);
      const ink = Number.parseInt((lines[y] as string).charAt(x), 16) / 15;
      sharp[at] = (sharp[at] as number) + ink / (shrink * shrink);
    }
  }
  const ink = blurred(sharp, width, height, sigma);
  const mean = ink.reduce((sum, share) => sum + share, 0) / ink.length;
  const centred = ink.map((share) => share - mean);
  const variance = centred.reduce((sum, share) => sum + share * share, 0) / ink.length;
  return { advance: advance / shrink, width, rows: height, ink, centred, variance };
}

/** Beyond its edges a character is blank. */
function blurred(ink: Float32Array, width: number, height: number, sigma: number): Float32Array {
  const reach = Math.ceil(3 * sigma);
  const taps = Float64Array.from({ length: 2 * reach + 1 }, (_, tap) =>
    Math.exp(-((tap - reach) ** 2) / (2 * sigma * sigma)),
  );
  const total = taps.reduce((sum, tap) => sum + tap, 0);
  const pass = (from: Float32Array, length: number, step: number, lines: number, lineStep: number) => {
    const to = new Float32Array(from.length);
    for (let line = 0; line < lines; line++) {
      for (let at = 0; at < length; at++) {
        let sum = 0;
        for (let tap = -reach; tap <= reach; tap++) {
          if (at + tap < 0 || at + tap >= length) continue;
          sum += (taps[tap + reach] as number) * (from[line * lineStep + (at + tap) * step] as number);
        }
        to[line * lineStep + at * step] = sum / total;
      }
    }
    return to;
  };
  return pass(pass(ink, width, 1, height, width), height, width, width, 1);
}
