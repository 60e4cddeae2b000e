/**
 * The probability distributions that breeding needs. The only file that knows the library: Cephes, whose
 * tails stay exact far out, where 1 − P would have nothing left.
 */
import { chdtrc, compiled, incbi, lgam, ndtr } from 'cephes';

// Its functions answer NaN before their code is compiled, which takes milliseconds.
await compiled;

/** P(X ≥ chi2) of a χ² distribution with `df` degrees of freedom, at least 1; 0 below 10⁻³⁰⁷. */
export function chiSquareTail(chi2: number, df: number): number {
  if (chi2 <= 0) return 1;
  try {
    return chdtrc(df, chi2);
  } catch (error) {
    // The library throws where the true value is less than a number can be.
    if (error instanceof Error && error.message.includes('underflow')) return 0;
    throw error;
  }
}

/** The value below which a share `probability` of the beta distribution lies. */
export function betaQuantile(probability: number, a: number, b: number): number {
  return incbi(a, b, probability);
}

/** ln n! */
export function logFactorial(n: number): number {
  return lgam(n + 1);
}

/** ln B(a, b) */
export function logBeta(a: number, b: number): number {
  return lgam(a) + lgam(b) - lgam(a + b);
}

/** P(X ≤ x) of the standard normal distribution. */
export function normalShare(x: number): number {
  return ndtr(x);
}
