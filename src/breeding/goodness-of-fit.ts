/**
 * Whether counts agree with the shares that were expected.
 */
import { chiSquareTail, logFactorial } from './distributions.js';

export interface ChiSquareTest {
  readonly chi2: number;
  readonly df: number;
  readonly p: number;
  /** The smallest expected count. Below 5 the χ² distribution fits badly (Cochran 1954). */
  readonly leastExpected: number;
}

/** Pearson's χ². Cells with the share 0 are left out; undefined with fewer than two others. */
export function chiSquareTest(
  counts: readonly number[],
  shares: readonly number[],
): ChiSquareTest | undefined {
  const cells = counts
    .map((count, cell) => ({ count, share: shares[cell] as number }))
    .filter(({ share }) => share > 0);
  const total = sum(cells.map(({ count }) => count));
  if (cells.length < 2 || total === 0) return undefined;
  const chi2 = sum(cells.map(({ count, share }) => (count - total * share) ** 2 / (total * share)));
  const df = cells.length - 1;
  const leastExpected = Math.min(...cells.map(({ share }) => total * share));
  return { chi2, df, p: chiSquareTail(chi2, df), leastExpected };
}

/** More outcomes than this are not gone through one by one. */
const MOST_OUTCOMES = 30_000_000;

/** Outcomes as likely as the one seen count with it; the slack is for rounding. */
const SLACK = 1e-7;

/**
 * P of all outcomes that are at most as likely as the one seen: the exact multinomial test (binomial with two
 * cells). 0 if something was seen that cannot be; undefined if there are too many outcomes to go through,
 * where χ² is good enough.
 */
export function exactMultinomialTest(
  counts: readonly number[],
  shares: readonly number[],
): number | undefined {
  const total = sum(counts);
  if (outcomes(total, counts.length) > MOST_OUTCOMES) return undefined;
  if (counts.some((count, cell) => count > 0 && shares[cell] === 0)) return 0;
  const logShares = shares.filter((share) => share > 0).map(Math.log);
  const logFactorials = Array.from({ length: total + 1 }, (_, n) => logFactorial(n));
  const seen = counts.filter((_, cell) => (shares[cell] as number) > 0);
  const term = (cell: number, count: number) =>
    count * (logShares[cell] as number) - (logFactorials[count] as number);
  const limit = sum(seen.map((count, cell) => term(cell, count))) + SLACK;

  const last = logShares.length - 1;
  let p = 0;
  const go = (cell: number, left: number, logSoFar: number) => {
    if (cell === last) {
      const logP = logSoFar + term(cell, left);
      if (logP <= limit) p += Math.exp(logP + (logFactorials[total] as number));
      return;
    }
    for (let count = 0; count <= left; count++) go(cell + 1, left - count, logSoFar + term(cell, count));
  };
  go(0, total, 0);
  return Math.min(1, p);
}

/** The smallest p that so many could give: above 0.05 there are too few to contradict anything. */
export function leastPossibleP(total: number, shares: readonly number[]): number {
  const rarest = shares.indexOf(Math.min(...shares.filter((share) => share > 0)));
  const extreme = shares.map((_, cell) => (cell === rarest ? total : 0));
  return exactMultinomialTest(extreme, shares) ?? 0;
}

/** Ways to spread `total` over `cells`. */
function outcomes(total: number, cells: number): number {
  let ways = 1;
  for (let cell = 1; cell < cells; cell++) ways = (ways * (total + cell)) / cell;
  return ways;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
