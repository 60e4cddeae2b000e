/**
 * Small systems of linear equations, symmetric and positive definite.
 */

/** Solves a symmetric, positive definite system; undefined if it is singular. */
export function solve(
  matrix: readonly (readonly number[])[],
  right: readonly number[],
): number[] | undefined {
  const rows = matrix.map((row, i) => [...row, right[i] as number]);
  const size = rows.length;
  for (let pivot = 0; pivot < size; pivot++) {
    const pivotRow = rows[pivot] as number[];
    const head = pivotRow[pivot] as number;
    if (!(head > 1e-10 * ((matrix[pivot] as readonly number[])[pivot] as number))) return undefined;
    for (let below = pivot + 1; below < size; below++) {
      const row = rows[below] as number[];
      const factor = (row[pivot] as number) / head;
      if (factor === 0) continue;
      for (let column = pivot; column <= size; column++) {
        row[column] = (row[column] as number) - factor * (pivotRow[column] as number);
      }
    }
  }
  const solution = new Array<number>(size).fill(0);
  for (let i = size - 1; i >= 0; i--) {
    const row = rows[i] as number[];
    const known = solution
      .slice(i + 1)
      .reduce((sum, value, k) => sum + value * (row[i + 1 + k] as number), 0);
    solution[i] = ((row[size] as number) - known) / (row[i] as number);
  }
  return solution;
}

/** ln of the determinant. */
export function logDeterminant(matrix: readonly (readonly number[])[]): number {
  const rows = matrix.map((row) => [...row]);
  let sum = 0;
  for (let pivot = 0; pivot < rows.length; pivot++) {
    const pivotRow = rows[pivot] as number[];
    const head = pivotRow[pivot] as number;
    sum += Math.log(Math.max(head, Number.MIN_VALUE));
    for (const row of rows.slice(pivot + 1)) {
      const factor = (row[pivot] as number) / head;
      for (let column = pivot; column < row.length; column++) {
        row[column] = (row[column] as number) - factor * (pivotRow[column] as number);
      }
    }
  }
  return sum;
}
