/** Sums, means and orders of numbers. */

/** Log of the sum of the exponentials; -∞ of none. */
export function logSumOf(terms: ArrayLike<number>): number {
  let top = Number.NEGATIVE_INFINITY;
  for (let at = 0; at < terms.length; at++) top = Math.max(top, terms[at] as number);
  if (top === Number.NEGATIVE_INFINITY) return top;
  let sum = 0;
  for (let at = 0; at < terms.length; at++) sum += Math.exp((terms[at] as number) - top);
  return top + Math.log(sum);
}

/** As `logSumOf`, of two. */
export function logAdd(a: number, b: number): number {
  const top = Math.max(a, b);
  return top === Number.NEGATIVE_INFINITY ? top : top + Math.log(Math.exp(a - top) + Math.exp(b - top));
}

export const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/** The value that this share of them is below, one of them; undefined if there are none. */
export function quantile(values: ArrayLike<number>, share: number): number | undefined {
  return Float64Array.from(values).sort()[Math.min(values.length - 1, Math.floor(share * values.length))];
}

/** Indices of the largest values, largest first. */
export function largest(values: Float32Array, most: number): number[] {
  const best: number[] = [];
  for (let index = 0; index < values.length; index++) {
    const value = values[index] as number;
    if (best.length === most && value <= (values[best[most - 1] as number] as number)) continue;
    let at = best.length;
    while (at > 0 && (values[best[at - 1] as number] as number) < value) at--;
    best.splice(at, 0, index);
    if (best.length > most) best.pop();
  }
  return best;
}
