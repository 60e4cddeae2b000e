import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clusteredShares } from '../../src/walk/clusters.js';
import { exactShares } from '../../src/walk/exact-shares.js';
import { pairShares } from '../../src/walk/posterior.js';

/** Every matching's weight, added up for the pairs it holds: the definition. */
function sharesByTrying(odds: readonly (readonly number[])[]): number[][] {
  const sums = odds.map((row) => row.map(() => 0));
  let total = 0;
  const place = (row: number, used: ReadonlySet<number>, pairs: [number, number][], weight: number): void => {
    if (row === odds.length) {
      total += weight;
      for (const [pot, plant] of pairs) (sums[pot] as number[])[plant] = (sums[pot]?.[plant] ?? 0) + weight;
      return;
    }
    place(row + 1, used, pairs, weight);
    (odds[row] ?? []).forEach((value, plant) => {
      if (!used.has(plant) && value > 0) {
        place(row + 1, new Set([...used, plant]), [...pairs, [row, plant]], weight * value);
      }
    });
  };
  place(0, new Set(), [], 1);
  return sums.map((row) => row.map((sum) => sum / total));
}

const oddsMatrix = (rows: number, columns: number, most: number) =>
  fc.array(
    fc.array(fc.oneof(fc.constant(0), fc.double({ min: 0.001, max: most, noNaN: true })), {
      minLength: columns,
      maxLength: columns,
    }),
    { minLength: rows, maxLength: rows },
  );

const sparse = (odds: readonly (readonly number[])[]) =>
  odds.map((row) => new Map(row.flatMap((value, column) => (value > 0 ? [[column, value]] : []))));

const dense = (shares: readonly ReadonlyMap<number, number>[], columnCount: number) =>
  shares.map((row) => Array.from({ length: columnCount }, (_, column) => row.get(column) ?? 0));

const clustered = (odds: readonly (readonly number[])[], largest?: number) => {
  const columnCount = odds[0]?.length ?? 0;
  return dense(clusteredShares(sparse(odds), columnCount, largest), columnCount);
};

const furthest = (a: readonly (readonly number[])[], b: readonly (readonly number[])[]) =>
  Math.max(
    0,
    ...a.flatMap((row, index) => row.map((value, at) => Math.abs(value - (b[index]?.[at] ?? NaN)))),
  );

describe('exactShares', () => {
  it('of one pair is odds / (1 + odds)', () => {
    expect(exactShares([[9]], 1).pairs[0]?.[0]).toBeCloseTo(0.9, 12);
  });

  // Two pots, two plants, all odds 1: the seven matchings weigh alike; each pair is in two of them.
  it('of two alike pots and plants is 2/7 each', () => {
    const { pairs, rowAlone, columnAlone } = exactShares(
      [
        [1, 1],
        [1, 1],
      ],
      2,
    );
    for (const share of pairs.flat()) expect(share).toBeCloseTo(2 / 7, 12);
    for (const alone of [...rowAlone, ...columnAlone]) expect(alone).toBeCloseTo(3 / 7, 12);
  });

  it('is what trying all matchings gives', () => {
    const size = fc.tuple(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 1, max: 5 }));
    fc.assert(
      fc.property(
        size.chain(([rows, columns]) => oddsMatrix(rows, columns, 1000)),
        (odds) => furthest(exactShares(odds, odds[0]?.length ?? 0).pairs, sharesByTrying(odds)) < 1e-9,
      ),
      { seed: 20261125, numRuns: 200 },
    );
  });

  it('gives each row and column what its pairs leave over', () => {
    fc.assert(
      fc.property(oddsMatrix(3, 5, 1000), (odds) => {
        const { pairs, rowAlone, columnAlone } = exactShares(odds, 5);
        const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);
        for (const [at, row] of pairs.entries()) expect(sum(row) + (rowAlone[at] ?? NaN)).toBeCloseTo(1, 9);
        columnAlone.forEach((alone, column) => {
          expect(alone + sum(pairs.map((row) => row[column] ?? NaN))).toBeCloseTo(1, 9);
        });
      }),
      { seed: 20261125, numRuns: 50 },
    );
  });

  it('bears odds as large as evidence makes them', () => {
    const odds = Array.from({ length: 12 }, (_, row) =>
      Array.from({ length: 12 }, (_, column) => (row === column ? 1e40 : 1e20)),
    );
    for (const [row, shares] of exactShares(odds, 12).pairs.entries())
      expect(shares[row]).toBeGreaterThan(0.999999);
  });
});

describe('clusteredShares', () => {
  it('is exact where pots and plants form a tree, however small the clusters', () => {
    // Pot 0 – plant 0 – pot 1 – plant 1 – pot 2: a path.
    const odds = [
      [3, 0],
      [2, 5],
      [0, 0.7],
    ];
    for (const largest of [1, 2]) {
      expect(furthest(clustered(odds, largest), sharesByTrying(odds))).toBeLessThan(1e-4);
    }
  });

  it('is exact where all is one cluster', () => {
    fc.assert(
      fc.property(
        oddsMatrix(5, 6, 1000),
        (odds) => furthest(clustered(odds, 5), sharesByTrying(odds)) < 1e-9,
      ),
      { seed: 20261125, numRuns: 50 },
    );
  });

  it('weighs two ways round a ring, where pair by pair it would be sure of the better one', () => {
    // Two pots that changed places or did not, 3 : 2, and weak ties to many others.
    const weak = (row: number, column: number) => (row > 1 || column > 1 ? 0.001 : 0);
    const odds = Array.from({ length: 14 }, (_, row) =>
      Array.from({ length: 14 }, (_, column) =>
        row < 2 && column < 2
          ? 1e6 * Math.sqrt(row === column ? 3 : 2)
          : row === column
            ? 100
            : weak(row, column),
      ),
    );
    expect(clustered(odds)[0]?.[0]).toBeCloseTo(0.6, 2);
    expect(clustered(odds, 1)[0]?.[0]).toBeGreaterThan(0.7);
  });

  it('is near the exact shares where every pot has one strong plant and many weak ones', () => {
    fc.assert(
      fc.property(oddsMatrix(8, 8, 0.3), fc.integer({ min: 2, max: 2000 }), (weak, strong) => {
        const odds = weak.map((row, index) => row.with(index, strong));
        return furthest(clustered(odds, 3), exactShares(odds, 8).pairs) < 0.03;
      }),
      { seed: 20261125, numRuns: 50 },
    );
  });

  it('never gives a pot or a plant more than one', () => {
    fc.assert(
      fc.property(oddsMatrix(14, 13, 1e6), (odds) => {
        const shares = clustered(odds);
        const columns = shares[0]?.map((_, column) =>
          shares.reduce((sum, row) => sum + (row[column] ?? 0), 0),
        );
        const rows = shares.map((row) => row.reduce((sum, share) => sum + share, 0));
        return [...rows, ...(columns ?? [])].every((sum) => sum < 1.001);
      }),
      { seed: 20261125, numRuns: 50 },
    );
  });
});

describe('pairShares', () => {
  it('is the same whichever side is the smaller', () => {
    const odds = Array.from({ length: 3 }, (_, row) =>
      Array.from({ length: 14 }, (_, column) => 1 + ((row * 7 + column * 3) % 5)),
    );
    const turned = Array.from({ length: 14 }, (_, column) => odds.map((row) => row[column] ?? 0));
    const shares = dense(pairShares(sparse(odds), 14), 14);
    const back = dense(pairShares(sparse(turned), 3), 3);
    expect(
      furthest(
        shares,
        shares.map((row, pot) => row.map((_, plant) => back[plant]?.[pot] ?? NaN)),
      ),
    ).toBeLessThan(1e-12);
    expect(furthest(shares, sharesByTrying(odds))).toBeLessThan(1e-9);
  });
});
