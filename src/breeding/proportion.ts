/**
 * Intervals for a share seen as `hits` of `of`.
 */
import { betaQuantile } from './distributions.js';

export interface Interval {
  readonly low: number;
  readonly high: number;
}

/** The normal distribution's 97.5 % quantile. */
export const Z_95 = 1.959963984540054;

/** Wilson's score interval, 95 %, without continuity correction (Wilson 1927); 0 to 1 if nothing was seen. */
export function wilson(hits: number, of: number): Interval {
  if (of === 0) return { low: 0, high: 1 };
  const share = hits / of;
  const z2 = Z_95 ** 2;
  const centre = share + z2 / (2 * of);
  const half = Z_95 * Math.sqrt((share * (1 - share)) / of + z2 / (4 * of * of));
  // At none and at all the limits are 0 and 1, which rounding would miss by a hair.
  return {
    low: hits === 0 ? 0 : (centre - half) / (1 + z2 / of),
    high: hits === of ? 1 : (centre + half) / (1 + z2 / of),
  };
}

/** Clopper and Pearson's exact interval (Biometrika 26:404, 1934); 0 to 1 if nothing was seen. */
export function clopperPearson(hits: number, of: number, confidence = 0.95): Interval {
  const tail = (1 - confidence) / 2;
  return {
    low: hits === 0 ? 0 : betaQuantile(tail, hits, of - hits + 1),
    high: hits === of ? 1 : betaQuantile(1 - tail, hits + 1, of - hits),
  };
}
