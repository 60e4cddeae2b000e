/**
 * Arithmetic on four numbers, one for each type of fig.
 */
import { FIG_TYPES, type PerType } from '../observe/type-likelihoods.js';

export const ALIKE: PerType = [0.25, 0.25, 0.25, 0.25];

/** @param valueAt for the place of a type in `FIG_TYPES` */
export function perType(valueAt: (type: number) => number): PerType {
  return [valueAt(0), valueAt(1), valueAt(2), valueAt(3)];
}

export function of(values: PerType, type: number): number {
  return values[type] as number;
}

export function dot(a: PerType, b: PerType): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];
}

export function added(a: PerType, b: PerType): PerType {
  return perType((type) => of(a, type) + of(b, type));
}

export function scaled(a: PerType, factor: number): PerType {
  return perType((type) => of(a, type) * factor);
}

export function multiplied(a: PerType, b: PerType): PerType {
  return perType((type) => of(a, type) * of(b, type));
}

/** In proportion, so that they add up to 1. */
export function normalised(a: PerType): PerType {
  return scaled(a, 1 / (a[0] + a[1] + a[2] + a[3]));
}

/** Likelihoods from their logarithms, the largest being 1. */
export function likelihoodOf(logLikelihood: PerType): PerType {
  const most = Math.max(...logLikelihood);
  return perType((type) => Math.exp(of(logLikelihood, type) - most));
}

/** `persistent female 0.97`, and so on. */
export function byName(values: PerType): Record<string, number> {
  return Object.fromEntries(FIG_TYPES.map((type, index) => [type, of(values, index)]));
}
