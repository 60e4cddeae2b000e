/**
 * How large to draw one module of a symbol, so that a printer draws every module alike.
 *
 * Printers place whole dots. A module of 5.5 dots comes out as 5 here and 6 there, and the scanner
 * reads bars of the wrong width. So a module is a whole number of dots, and of those the largest
 * that fits with its quiet zones: larger modules survive more mud and a worse lens.
 */
import assert from 'node:assert/strict';

export const MM_PER_INCH = 25.4;

/** Forgives binary rounding (39.9999999996 dots are 40) and is far below what any printer can hold. */
const SLACK_DOTS = 1e-6;

/** Whole dots that fit into a length. */
export function dotsWithin(mm: number, dpi: number): number {
  return Math.floor((mm * dpi) / MM_PER_INCH + SLACK_DOTS);
}

/** Whole dots that reach at least a length. */
export function dotsAtLeast(mm: number, dpi: number): number {
  return Math.ceil((mm * dpi) / MM_PER_INCH - SLACK_DOTS);
}

/** `needsDots` is the smallest room that would have held the symbol. */
export type ModuleFit =
  | { readonly kind: 'fits'; readonly moduleDots: number }
  | { readonly kind: 'too small'; readonly needsDots: number };

/**
 * Fits the largest module of at least `leastDots` into `roomDots`, for a symbol that is `modules`
 * wide with everything around it that is measured in modules (quiet zones, frame).
 *
 * Too small is an answer, not an error: only the caller knows which stock and cell to blame.
 */
export function fitModule(modules: number, roomDots: number, leastDots: number): ModuleFit {
  assert(modules > 0 && leastDots > 0, `${modules} modules, least ${leastDots} dots`);
  const moduleDots = Math.floor(roomDots / modules);
  return moduleDots < leastDots
    ? { kind: 'too small', needsDots: leastDots * modules }
    : { kind: 'fits', moduleDots };
}
