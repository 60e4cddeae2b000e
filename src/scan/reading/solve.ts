/** Small dense systems of linear equations. */

/**
 * Solves (A + damping · diag A) x = b by Cholesky's method; null when that is not positive definite.
 * @param lower A, of which only the lower half is looked at, row by row
 */
export function solveSymmetric(
  lower: Float64Array,
  right: Float64Array,
  damping: number,
): Float64Array | null {
  const size = right.length;
  const factor = lower.slice();
  let trace = 0;
  for (let index = 0; index < size; index++) trace += lower[index * size + index] as number;
  for (let index = 0; index < size; index++) {
    const at = index * size + index;
    factor[at] = (factor[at] as number) * (1 + damping) + 1e-9 * trace;
  }
  for (let column = 0; column < size; column++) {
    let pivot = factor[column * size + column] as number;
    for (let k = 0; k < column; k++) pivot -= (factor[column * size + k] as number) ** 2;
    if (!(pivot > 0)) return null;
    const root = Math.sqrt(pivot);
    factor[column * size + column] = root;
    for (let row = column + 1; row < size; row++) {
      let sum = factor[row * size + column] as number;
      for (let k = 0; k < column; k++)
        sum -= (factor[row * size + k] as number) * (factor[column * size + k] as number);
      factor[row * size + column] = sum / root;
    }
  }
  const x = right.slice();
  for (let row = 0; row < size; row++) {
    let sum = x[row] as number;
    for (let k = 0; k < row; k++) sum -= (factor[row * size + k] as number) * (x[k] as number);
    x[row] = sum / (factor[row * size + row] as number);
  }
  for (let row = size - 1; row >= 0; row--) {
    let sum = x[row] as number;
    for (let k = row + 1; k < size; k++) sum -= (factor[k * size + row] as number) * (x[k] as number);
    x[row] = sum / (factor[row * size + row] as number);
  }
  return x;
}
