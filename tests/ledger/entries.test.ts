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

/** What an observation's body is held to, as zod would say it. */
const OBSERVED = z.strictObject({
  id: z.string().regex(/^[0-9A-HJKMNP-TV-Z]{5,7}$/),
  issue: z.int().min(1).max(9999).nullable(),
  date: z.iso.date(),
  values: SCHEMA,
  photo: z.strictObject({ file: text, sha256: z.string().regex(/^[0-9a-f]{64}$/) }).nullable(),
  withoutTag: z.literal(true).optional(),
});

it('an observation is what the schema of an object would let through, and nothing else', () => {
  const photo = { file: 'a.jpg', sha256: 'a1'.repeat(32) };
  const usually = (...sound: readonly unknown[]) =>
    fc.oneof(
      { weight: 12, arbitrary: fc.constantFrom(...sound) },
      { weight: 1, arbitrary: fc.anything({ key }) },
    );
  const members = {
    id: usually('K7FY5', '00000Z', 'ABCDEFG', 'K7FI5', 'k7fy5', 'K7F', '12345678'),
    issue: usually(null, 1, 9999, 2, 3, 4, 5, 0, 10_000, 1.5, Number.NaN, '1'),
    date: usually(
      '2026-08-30',
      '2024-02-29',
      '2026-01-01',
      '2026-12-31',
      '2026-02-29',
      '2026-8-3',
      '2026-04-31',
    ),
    values: usually({}, { brix: 18.5 }, { fruit: 'ripe' }),
    photo: usually(null, photo, photo, { ...photo, sha256: 'a1' }, { ...photo, more: 1 }, { file: 'a.jpg' }),
    withoutTag: usually(true, true, undefined, false, null),
  };
  const body = fc
    .tuple(fc.record(members, { requiredKeys: [] }), fc.constantFrom({}, {}, {}, { more: 1 }))
    .map(([body, more]) => ({ ...body, ...more }));
  const counts = { true: 0, false: 0 };
  fc.assert(
    fc.property(
      fc.oneof({ weight: 30, arbitrary: body }, { weight: 1, arbitrary: fc.anything({ key }) }),
      (body) => {
        const is = ENTRY_BODIES.observed.safeParse(body).success;
        counts[`${is}`]++;
        expect(is).toBe(OBSERVED.safeParse(body).success);
      },
    ),
    { seed: 20261128, numRuns: 20_000 },
  );
  expect(counts.true).toBeGreaterThan(150);
  expect(counts.false).toBeGreaterThan(1000);
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
