/**
 * What the fruit of a fig should be like inside, from the type that the grower states and from what was seen
 * before. A dry fruit after one with pulp is nothing odd, stamens are: through the type, and the table that
 * types are judged by (observe/type-likelihoods.ts).
 */
import { CUT_FRUIT, FIG_TYPES } from '../observe/type-likelihoods.js';

const SEEN = ['pulp', 'stamens', 'dry'] as const;

/**
 * @param type as stated: all of a type's words, or some of them (`caprifig`); null if not
 * @param before what was seen inside last; undefined if nothing was
 * @returns how likely each is to be seen; undefined if nothing is known
 */
export function insideShares(
  type: string | null,
  before: string | undefined,
): ReadonlyMap<string, number> | undefined {
  const stated = type?.trim().toLowerCase() ?? '';
  const weights = FIG_TYPES.map((name, index) => {
    const isMeant = name.includes(stated);
    return isMeant ? (before === undefined ? 1 : chance(before, index)) : 0;
  });
  const sum = weights.reduce((total, weight) => total + weight, 0);
  if (sum === 0 || (stated === '' && before === undefined)) return undefined;
  return new Map(
    SEEN.map((seen) => [
      seen,
      weights.reduce((total, weight, index) => total + (weight * chance(seen, index)) / sum, 0),
    ]),
  );
}

function chance(seen: string, type: number): number {
  return CUT_FRUIT.find((line) => line.seen === seen && line.fruit === 'ripe')?.probability[type] ?? 0;
}
