/**
 * Time until something happens, when for some it has not happened yet.
 */
import { chiSquareTail } from './distributions.js';
import { solve } from './linear.js';
import { type Interval, Z_95 } from './proportion.js';

/** One plant: the time until it happened, or so far without. */
export interface Waiting {
  readonly time: number;
  readonly happened: boolean;
}

/** The curve from a time on at which something happened. */
export interface Step {
  readonly time: number;
  readonly atRisk: number;
  readonly events: number;
  /** Share to which it has not happened yet. */
  readonly share: number;
  /** Greenwood's. */
  readonly standardError: number;
  /** 95 %, Greenwood's on the log(−log) scale, which stays within 0 and 1; null where it is not defined. */
  readonly band: Interval | null;
}

/**
 * Kaplan and Meier's estimate. Of one time, what happened counts before those who waited no longer (their
 * convention). Those who are only known to have waited must not be otherwise like or unlike the rest.
 */
export function kaplanMeier(waiting: readonly Waiting[]): Step[] {
  const steps: Step[] = [];
  let share = 1;
  let greenwood = 0;
  for (const { time, atRisk, events } of eventTimes([waiting])) {
    const [n, d] = [atRisk[0] as number, events[0] as number];
    share *= 1 - d / n;
    greenwood += d / (n * (n - d));
    const standardError = share === 0 ? 0 : share * Math.sqrt(greenwood);
    steps.push({ time, atRisk: n, events: d, share, standardError, band: logLogBand(share, greenwood) });
  }
  return steps;
}

/** Half have it behind them at this time; a limit is null where the band does not reach down to a half. */
export function median(steps: readonly Step[]): {
  readonly time: number | null;
  readonly low: number | null;
  readonly high: number | null;
} {
  const firstAtHalf = (shareOf: (step: Step) => number) =>
    steps.find((step) => shareOf(step) <= 0.5 + 1e-12)?.time ?? null;
  return {
    time: firstAtHalf(({ share }) => share),
    low: firstAtHalf(({ band, share }) => band?.low ?? share),
    high: firstAtHalf(({ band }) => band?.high ?? 1),
  };
}

export interface LogRank {
  readonly chi2: number;
  readonly df: number;
  readonly p: number;
  /** Of each group: how often it happened, and would have if all groups were alike. */
  readonly groups: readonly { readonly observed: number; readonly expected: number }[];
}

/** The log-rank test of two or more groups (Mantel 1966). Undefined if nothing distinguishes them. */
export function logRank(groups: readonly (readonly Waiting[])[]): LogRank | undefined {
  const observed = groups.map(() => 0);
  const expected = groups.map(() => 0);
  const covariance = groups.map(() => groups.map(() => 0));
  for (const { atRisk, events } of eventTimes(groups)) {
    const [n, d] = [sum(atRisk), sum(events)];
    const spread = n > 1 ? (d * (n - d)) / (n - 1) : 0;
    groups.forEach((_, i) => {
      const shareI = (atRisk[i] as number) / n;
      observed[i] = (observed[i] as number) + (events[i] as number);
      expected[i] = (expected[i] as number) + d * shareI;
      const row = covariance[i] as number[];
      groups.forEach((__, j) => {
        row[j] = (row[j] as number) + spread * shareI * ((i === j ? 1 : 0) - (atRisk[j] as number) / n);
      });
    });
  }
  // The deviations add up to 0, so the last group's follows from the others'.
  const last = groups.length - 1;
  const deviation = observed.slice(0, last).map((value, i) => value - (expected[i] as number));
  const solved = solve(
    covariance.slice(0, last).map((row) => row.slice(0, last)),
    deviation,
  );
  if (last < 1 || solved === undefined) return undefined;
  const chi2 = sum(deviation.map((value, i) => value * (solved[i] as number)));
  return {
    chi2,
    df: last,
    p: chiSquareTail(chi2, last),
    groups: observed.map((value, i) => ({ observed: value, expected: expected[i] as number })),
  };
}

interface EventTime {
  readonly time: number;
  /** Of each group. */
  readonly atRisk: readonly number[];
  readonly events: readonly number[];
}

/** The times at which something happened, ascending, with how many it could have happened to. */
function* eventTimes(groups: readonly (readonly Waiting[])[]): Generator<EventTime> {
  const all = groups
    .flatMap((group, index) => group.map(({ time, happened }) => ({ time, happened, index })))
    .sort((a, b) => a.time - b.time);
  const atRisk = groups.map((group) => group.length);
  for (let start = 0; start < all.length; ) {
    const time = (all[start] as { time: number }).time;
    const events = groups.map(() => 0);
    const gone = groups.map(() => 0);
    let next = start;
    for (; next < all.length && all[next]?.time === time; next++) {
      const { index, happened } = all[next] as { index: number; happened: boolean };
      gone[index] = (gone[index] as number) + 1;
      if (happened) events[index] = (events[index] as number) + 1;
    }
    if (events.some((count) => count > 0)) yield { time, atRisk: [...atRisk], events };
    gone.forEach((count, index) => {
      atRisk[index] = (atRisk[index] as number) - count;
    });
    start = next;
  }
}

function logLogBand(share: number, greenwood: number): Interval | null {
  if (share <= 0 || share >= 1) return null;
  const spread = (Z_95 * Math.sqrt(greenwood)) / Math.abs(Math.log(share));
  return { low: share ** Math.exp(spread), high: share ** Math.exp(-spread) };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
