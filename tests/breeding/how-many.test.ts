import fc from 'fast-check';
import { expect, it } from 'vitest';
import { CHANCE, MOST_SEEDLINGS, seedlingsFor, seedlingsForUncertain } from '../../src/breeding/how-many.js';

it('for a known share: n is enough and n − 1 is not', () => {
  fc.assert(
    fc.property(fc.double({ min: 1e-4, max: 0.999, noNaN: true }), (share) => {
      const n = seedlingsFor(share, CHANCE);
      expect(1 - (1 - share) ** n).toBeGreaterThanOrEqual(CHANCE - 1e-9);
      if (n > 1) expect(1 - (1 - share) ** (n - 1)).toBeLessThan(CHANCE + 1e-9);
    }),
    { seed: 20261125 },
  );
  expect(seedlingsFor(0, CHANCE)).toBe(Infinity);
  expect(seedlingsFor(1, CHANCE)).toBe(1);
});

it('for an uncertain share: by hand, nothing seen yet', () => {
  // A uniform share: P(none in n) = 1 / (n + 1), so 19 seedlings for 95 %.
  expect(seedlingsForUncertain(0, 0, 0.95)).toBe(19);
  // None of 10: P(none in n) = 11 / (11 + n), so 209.
  expect(seedlingsForUncertain(0, 10, 0.95)).toBe(209);
  // One of 2: Beta(2, 2): P(none in n) = 6 / ((n + 2)(n + 3)) ≤ 0.05 from n = 9 on (6/132 = 0.045; 6/110 > 0.05).
  expect(seedlingsForUncertain(1, 2, 0.95)).toBe(9);
});

it('asks for more than the share seen, taken for the truth, and comes near it with much seen', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 1, max: 400 }), (hits, misses) => {
      const n = seedlingsForUncertain(hits, hits + misses, CHANCE);
      expect(n).toBeGreaterThanOrEqual(seedlingsFor((hits + 1) / (hits + misses + 2), CHANCE));
    }),
    { seed: 20261125 },
  );
  expect(seedlingsForUncertain(2500, 10_000, CHANCE)).toBe(seedlingsFor(1 / 4, CHANCE));
});

it('says when it is more than any garden sows', () => {
  expect(seedlingsForUncertain(0, 10_000, CHANCE)).toBeNull();
  expect(seedlingsForUncertain(0, 5_000, CHANCE)).toBeLessThanOrEqual(MOST_SEEDLINGS);
});
