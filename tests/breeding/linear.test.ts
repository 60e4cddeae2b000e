import { expect, it } from 'vitest';
import { logDeterminant, solve } from '../../src/breeding/linear.js';

it('solve: by hand, and a singular system', () => {
  expect(
    solve(
      [
        [2, 1],
        [1, 3],
      ],
      [5, 10],
    ),
  ).toEqual([1, 3]);
  expect(
    solve(
      [
        [1, 1],
        [1, 1],
      ],
      [1, 1],
    ),
  ).toBeUndefined();
});

it('logDeterminant: by hand', () => {
  expect(
    logDeterminant([
      [4, 2],
      [2, 3],
    ]),
  ).toBeCloseTo(Math.log(8), 12);
  expect(logDeterminant([])).toBe(0);
});
