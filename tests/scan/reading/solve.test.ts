import fc from 'fast-check';
import { expect, it } from 'vitest';
import { solveSymmetric } from '../../../src/scan/reading/solve.js';

it('what is solved, put in again, gives the right side', () => {
  const size = 4;
  const entry = fc.double({ min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(
      fc.array(entry, { minLength: size * size, maxLength: size * size }),
      fc.array(entry, { minLength: size, maxLength: size }),
      (root, right) => {
        // R Rᵀ + 1 is positive definite, whatever R.
        const matrix = Float64Array.from({ length: size * size }, (_, at) => {
          const [row, column] = [Math.floor(at / size), at % size];
          let sum = row === column ? 1 : 0;
          for (let k = 0; k < size; k++) {
            sum += (root[row * size + k] as number) * (root[column * size + k] as number);
          }
          return sum;
        });
        const x = solveSymmetric(matrix, Float64Array.from(right), 0);
        if (x === null) throw new Error('it is positive definite');
        for (let row = 0; row < size; row++) {
          let sum = 0;
          for (let k = 0; k < size; k++) sum += (matrix[row * size + k] as number) * (x[k] as number);
          expect(sum).toBeCloseTo(right[row] as number, 6);
        }
      },
    ),
    { seed: 20261125 },
  );
});

it('a matrix that is not positive definite has no answer', () => {
  expect(solveSymmetric(Float64Array.of(1, 0, 2, 1), Float64Array.of(1, 1), 0)).toBeNull();
});
