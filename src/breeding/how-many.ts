/**
 * How many more seedlings for a given chance of at least one of the wanted kind.
 */
import { logBeta } from './distributions.js';

export const CHANCE = 0.95;

/** No garden sows more; beyond it only the order of size could be told. */
export const MOST_SEEDLINGS = 100_000;

/**
 * The least n with 1 − (1 − share)ⁿ ≥ chance: ln(1 − chance) / ln(1 − share), rounded up (Sedcole, Crop Sci.
 * 17:667, 1977). Infinity if the share is 0.
 */
export function seedlingsFor(share: number, chance: number): number {
  if (share <= 0) return Infinity;
  if (share >= 1) return 1;
  const n = Math.ceil(Math.log1p(-chance) / Math.log1p(-share));
  // The quotient can be a whole number that binary fractions miss by a hair.
  return n > 1 && 1 - (1 - share) ** (n - 1) >= chance ? n - 1 : n;
}

/**
 * The same if the share is only known from `hits` of `of` seedlings: every share from 0 to 1 being as likely
 * as any other before (a uniform prior), P(none in n) = B(1 + hits, 1 + misses + n) / B(1 + hits, 1 + misses).
 * Always more than the share seen, taken for the truth, would say. Null if more than `MOST_SEEDLINGS`.
 */
export function seedlingsForUncertain(hits: number, of: number, chance: number): number | null {
  const [a, b] = [1 + hits, 1 + of - hits];
  const before = logBeta(a, b);
  return leastWith((n) => logBeta(a, b + n) - before <= Math.log1p(-chance) + 1e-12);
}

/** The least n from 1 to `MOST_SEEDLINGS` that is enough, all larger ones being enough too; null if none is. */
export function leastWith(isEnough: (n: number) => boolean): number | null {
  if (!isEnough(MOST_SEEDLINGS)) return null;
  let [tooFew, enough] = [0, MOST_SEEDLINGS];
  while (enough - tooFew > 1) {
    const middle = Math.floor((tooFew + enough) / 2);
    if (isEnough(middle)) enough = middle;
    else tooFew = middle;
  }
  return enough;
}
