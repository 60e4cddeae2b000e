/** What a body may hold: a check written for speed accepts just what the schema would that it stands for. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import * as z from 'zod';
import { ENTRY_BODIES } from '../../src/ledger/entries.js';

const text = z.string().min(1);
const SCHEMA = z.record(text, z.union([text, z.number()]));
const SEEN = { id: 'K7FY5', issue: 1, date: '2026-08-30', photo: null };

function isAccepted(values: unknown): boolean {
  return ENTRY_BODIES.observed.safeParse({ ...SEEN, values }).success;
}

// zod passes over a key __proto__, whatever it holds.
const key = fc.string({ maxLength: 8 }).filter((name) => name !== '__proto__');
const value = fc.oneof(
  { weight: 4, arbitrary: fc.string() },
  { weight: 4, arbitrary: fc.double() },
  { weight: 1, arbitrary: fc.anything() },
);

it('values are what the schema of a record would let through, and nothing else', () => {
  const values = fc.oneof(fc.dictionary(key, value, { maxKeys: 4 }), fc.anything({ key }));
  let accepted = 0;
  fc.assert(
    fc.property(values, (values) => {
      const is = isAccepted(values);
      if (is) accepted++;
      expect(is).toBe(SCHEMA.safeParse(values).success);
    }),
    { seed: 20261125, numRuns: 3000 },
  );
  expect(accepted).toBeGreaterThan(300);
});

it.each([
  [{}, true],
  [{ brix: 18.5, flavour: 'fig' }, true],
  [{ brix: '' }, false],
  [{ '': 1 }, false],
  [{ brix: Number.NaN }, false],
  [{ brix: Number.POSITIVE_INFINITY }, false],
  [{ brix: null }, false],
  [[1], false],
  [null, false],
  ['ripe', false],
])('values %j are accepted: %s', (values, expected) => {
  expect(isAccepted(values)).toBe(expected);
});
