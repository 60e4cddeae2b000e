/**
 * How probable each pair is, over all ways to match pots with plants at once.
 *
 * A matching has the weight Π odds over its pairs: the odds of a pair say how much likelier it is than that
 * this pot holds none of these plants and this plant is gone. The share of a pair is the weight of all
 * matchings that hold it. Small problems are summed exactly, over the sets of plants (or pots) used so far;
 * large ones are cut into clusters that are (clusters.ts).
 */
import { clusteredShares } from './clusters.js';
import { exactShares } from './exact-shares.js';
import type { Edges } from './groups.js';

/** Sets of so many are summed exactly: 2¹² × 12 sums a pot. */
const LARGEST_EXACT = 12;

/**
 * @param odds of each pot (row) and plant (column), finite and more than 0
 * @returns the share of each of these pairs; what a row lacks to one is the share of "none of these"
 */
export function pairShares(odds: Edges, columnCount: number): Map<number, number>[] {
  if (Math.min(odds.length, columnCount) > LARGEST_EXACT) return clusteredShares(odds, columnCount);
  const { pairs } = exactShares(
    odds.map((row) => Array.from({ length: columnCount }, (_, column) => row.get(column) ?? 0)),
    columnCount,
  );
  return odds.map((row, at) => new Map([...row.keys()].map((column) => [column, pairs[at]?.[column] ?? 0])));
}
