/**
 * The assignment solver against published optima, and against trying everything.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { assign } from '../../src/walk/assignment.js';

interface Example {
  readonly source: string;
  readonly costs: readonly (readonly number[])[];
  readonly optimum: number;
  /** Where only one assignment reaches the optimum. */
  readonly columns?: readonly number[];
}

const EXAMPLES: readonly Example[] = [
  {
    source: 'SciPy documentation of linear_sum_assignment',
    costs: [
      [4, 1, 3],
      [2, 0, 5],
      [3, 2, 2],
    ],
    optimum: 5,
    columns: [1, 0, 2],
  },
  {
    source: 'an encyclopaedia example (from memory)',
    costs: [
      [8, 4, 7],
      [5, 2, 3],
      [9, 4, 8],
    ],
    optimum: 15,
    columns: [0, 2, 1],
  },
  {
    source: 'a classic test set (from memory)',
    costs: [
      [400, 150, 400],
      [400, 450, 600],
      [300, 225, 300],
    ],
    optimum: 850,
    columns: [1, 0, 2],
  },
  {
    source: 'the same test set, rectangular (from memory); two assignments reach it',
    costs: [
      [400, 150, 400, 1],
      [400, 450, 600, 2],
      [300, 225, 300, 3],
    ],
    optimum: 452,
  },
  {
    source: 'the same test set (from memory)',
    costs: [
      [10, 10, 8],
      [9, 8, 1],
      [9, 7, 4],
    ],
    optimum: 18,
    columns: [0, 2, 1],
  },
  {
    source: 'a lecture on edurev.in (its matrix; optimum by two methods)',
    costs: [
      [28, 27, 24, 35, 38],
      [26, 24, 23, 32, 39],
      [18, 20, 22, 30, 32],
      [27, 30, 25, 24, 27],
      [29, 31, 28, 40, 36],
    ],
    optimum: 126,
    columns: [2, 1, 0, 3, 4],
  },
  {
    source: 'a thread on math10.com (its matrix; optimum by two methods)',
    costs: [
      [50, 90, 68, 80, 60],
      [80, 90, 80, 95, 85],
      [50, 60, 70, 65, 68],
      [72, 54, 62, 60, 76],
      [45, 90, 66, 73, 88],
    ],
    optimum: 304,
    columns: [4, 2, 3, 1, 0],
  },
  {
    source: "five workers, four tasks: an optimisation library's guide (from memory); a row is a task",
    costs: [
      [90, 35, 125, 45, 50],
      [80, 85, 95, 110, 100],
      [75, 55, 90, 95, 90],
      [70, 65, 105, 115, 100],
    ],
    optimum: 265,
    columns: [3, 2, 1, 0],
  },
];

function costOf(costs: readonly (readonly number[])[], columns: readonly number[]): number {
  return columns.reduce((sum, column, row) => sum + (costs[row]?.[column] ?? Number.NaN), 0);
}

/** The least cost, by trying every assignment. */
function leastCost(costs: readonly (readonly number[])[], row = 0, used = 0): number {
  if (row === costs.length) return 0;
  return (costs[row] ?? []).reduce((least, cost, column) => {
    if ((used >> column) & 1) return least;
    return Math.min(least, cost + leastCost(costs, row + 1, used | (1 << column)));
  }, Infinity);
}

describe('assign', () => {
  for (const { source, costs, optimum, columns } of EXAMPLES) {
    it(`reaches ${optimum}: ${source}`, () => {
      const found = assign(costs) ?? [];
      expect(new Set(found).size).toBe(costs.length);
      expect(costOf(costs, found)).toBe(optimum);
      if (columns !== undefined) expect(found).toEqual(columns);
    });
  }

  // Edge rules as in SciPy's own tests.
  it('has no answer where a row or a column of a square problem is forbidden', () => {
    expect(
      assign([
        [Infinity, Infinity],
        [1, 2],
      ]),
    ).toBeUndefined();
    expect(
      assign([
        [Infinity, 2],
        [Infinity, 1],
      ]),
    ).toBeUndefined();
  });

  it('refuses what is no cost, and more rows than columns', () => {
    expect(() => assign([[Number.NaN]])).toThrow(RangeError);
    expect(() => assign([[-Infinity]])).toThrow(RangeError);
    expect(() => assign([[1], [2]])).toThrow(RangeError);
  });

  it('takes a constant matrix in order, and an empty one', () => {
    expect(
      assign([
        [7, 7, 7],
        [7, 7, 7],
        [7, 7, 7],
      ]),
    ).toEqual([0, 1, 2]);
    expect(assign([])).toEqual([]);
  });

  it('is never beaten by trying everything, forbidden pairs and negative costs too', () => {
    const cost = fc.oneof({ weight: 5, arbitrary: fc.integer({ min: -50, max: 50 }) }, fc.constant(Infinity));
    const matrix = fc
      .tuple(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 0, max: 2 }))
      .chain(([rows, more]) =>
        fc.array(fc.array(cost, { minLength: rows + more, maxLength: rows + more }), {
          minLength: rows,
          maxLength: rows,
        }),
      );
    fc.assert(
      fc.property(matrix, (costs) => {
        const found = assign(costs);
        const least = leastCost(costs);
        if (found === undefined) return least === Infinity;
        return new Set(found).size === costs.length && costOf(costs, found) === least;
      }),
      { seed: 20261125, numRuns: 500 },
    );
  });
});
