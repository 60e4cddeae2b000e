import { expect, it } from 'vitest';
import { typeLogLikelihood } from '../../../src/observe/type-evidence.js';
import { historyOf } from '../../../src/walk/doubts/history.js';
import { observed, seenOn } from './histories.js';

it('what each day says of the type adds up to what the whole history says', () => {
  const history = seenOn(1, {
    '2024-08-01': { fruit: 'dropped', wood: 'new', pollination: 'none' },
    '2024-09-01': { fruit: 'dropped', wood: 'new', pollination: 'none' },
    '2025-08-20': { fruit: 'ripe', wood: 'new', pollination: 'hand', inside: 'pulp', liking: 7 },
    '2025-09-02': { fruit: 'ripe', wood: 'new', pollination: 'hand', inside: 'pulp' },
    '2026-09-01': { inside: 'dry' },
  });
  const { records } = historyOf(history);
  const product = [0, 1, 2, 3].map((type) =>
    records.reduce((sum, { types }) => sum + Math.log(types?.[type] ?? 1), 0),
  );
  const whole = typeLogLikelihood(history.observations, false);
  // Up to a constant that is alike for all types.
  for (const type of [1, 2, 3]) {
    expect((product[type] as number) - (product[0] as number)).toBeCloseTo(
      (whole[type] as number) - whole[0],
      10,
    );
  }
});

it('of one day the last word counts, and the mean of numbers', () => {
  const { plant } = seenOn(1, {});
  const see = (values: Record<string, string | number>) => observed(plant, '2026-09-01', values);
  const observations = [see({ leaf: 'unlobed', brix: 16 }), see({ leaf: 'five-lobed', brix: 18 })];
  const { records } = historyOf({ plant, observations });
  expect(records).toHaveLength(1);
  expect([...(records[0]?.values ?? [])]).toEqual([
    ['leaf', 'five-lobed'],
    ['brix', 17],
  ]);
});

it('what passes with the day, or says where a plant stood, is no part of it', () => {
  const { records } = historyOf(
    seenOn(1, {
      '2026-04-01': { station: 'bench 1 / 2', note: 'repotted' },
      '2026-05-01': { alive: 'yes', weather: 'frost' },
    }),
  );
  expect(records).toEqual([]);
});

it("the grower's CSV comes before all days: its columns, and a type that is stated", () => {
  const { records } = historyOf(
    seenOn(
      1,
      { '2026-09-01': { inside: 'pulp' } },
      { type: 'Caducous caprifig', extra: { Leaf: 'unlobed' } },
    ),
  );
  expect(records.map(({ date }) => date)).toEqual([null, '2026-09-01']);
  expect([...(records[0]?.values ?? [])]).toEqual([['leaf', 'unlobed']]);
  const types = records[0]?.types ?? [];
  expect(types.indexOf(Math.max(...types))).toBe(3);
});
