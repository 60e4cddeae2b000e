/**
 * Doubts about whole gardens: what holds of any, and how often they are right in gardens of known truth, small
 * and of fixed seeds; `npm run bench` takes larger and fresh ones.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { idOfNumber } from '../../../src/ids/allocation.js';
import type { History } from '../../../src/ledger/model.js';
import { whyExchanged } from '../../../src/walk/doubts/because.js';
import { type DoubtsReport, findDoubts } from '../../../src/walk/doubts/doubts.js';
import { DOUBTS } from '../../../src/walk/doubts/parameters.js';
import { doubtsAbout, doubtsFiguresOf } from '../../bench/doubts-figures.js';
import { REALISTIC, simulateSeen } from '../../bench/doubts-simulator.js';
import { ledgerWith } from '../../support/ledger.js';
import { seenOn } from './histories.js';

const STEADY = { '2024-05-01': { leaf: 'three-lobed' }, '2025-05-01': { leaf: 'three-lobed' } };
const A = {
  '2024-04-20': { leaf: 'unlobed' },
  '2025-04-20': { leaf: 'unlobed' },
  '2025-09-10': { inside: 'stamens' },
  '2026-04-20': { leaf: 'five-lobed' },
  '2026-09-01': { inside: 'pulp' },
};
const B = {
  '2024-04-20': { leaf: 'five-lobed' },
  '2025-04-21': { leaf: 'five-lobed' },
  '2025-09-12': { inside: 'pulp' },
  '2026-04-20': { leaf: 'unlobed' },
  '2026-09-03': { inside: 'stamens' },
};
const OTHERS = Array.from({ length: 10 }, (_, index) => seenOn(index + 3, STEADY));
const EXCHANGED = [seenOn(1, A), seenOn(2, B), ...OTHERS];

describe('two neighbours who wear each other’s tags', () => {
  it('are said to, with the days between the last right records and the first wrong ones', async () => {
    const { doubts, contradictions } = await doubtsAbout(EXCHANGED);
    expect(doubts).toHaveLength(1);
    expect(doubts[0]).toMatchObject({
      a: { plant: { number: 1 } },
      b: { plant: { number: 2 } },
      isSaid: true,
      since: '2026-04-20',
      between: { from: '2025-09-13', to: '2026-04-20' },
    });
    expect(doubts[0]?.probability).toBeGreaterThan(0.99);
    expect(contradictions).toEqual([]);
  });

  it('are explained by what was seen before and since', async () => {
    const { doubts, garden } = await doubtsAbout(EXCHANGED);
    const [doubt] = doubts;
    if (doubt === undefined) throw new Error('no doubt');
    const [a, b] = [doubt.a.plant.id, doubt.b?.plant.id];
    expect(whyExchanged(doubt, garden)).toEqual(
      expect.arrayContaining([
        `${a}: leaf unlobed on 2024-04-20 and 2025-04-20, then five-lobed on 2026-04-20`,
        `${b}: inside pulp on 2025-09-12, then inside stamens on 2026-09-03`,
      ]),
    );
  });

  it('are no doubt any more once their later observations have changed places', async () => {
    const late = (seen: object) => Object.entries(seen).filter(([date]) => date >= '2026-04-20');
    const early = (seen: object) => Object.entries(seen).filter(([date]) => date < '2026-04-20');
    const settled = [
      seenOn(1, Object.fromEntries([...early(A), ...late(B)])),
      seenOn(2, Object.fromEntries([...early(B), ...late(A)])),
    ];
    expect(await doubtsAbout([...settled, ...OTHERS])).toMatchObject({ doubts: [], contradictions: [] });
  });

  it('are none if one was sown after, or ended before', async () => {
    const ended = [seenOn(1, A, { ended: '2025-05-01' }), seenOn(2, B), ...OTHERS];
    expect((await doubtsAbout(ended)).doubts.filter(({ b }) => b !== null)).toEqual([]);
    const sown = [seenOn(1, A), seenOn(2, B, { sown: '2026-08-01' }), ...OTHERS];
    expect((await doubtsAbout(sown)).doubts.filter(({ b }) => b !== null)).toEqual([]);
  });
});

describe('a contradiction that no exchange explains', () => {
  const contradictionsOf = async (seen: typeof A | object) =>
    (await doubtsAbout([seenOn(1, seen as typeof A), ...OTHERS])).contradictions;

  it('names the record that is the odd one out', async () => {
    const found = await contradictionsOf({
      '2024-04-20': { leaf: 'unlobed' },
      '2025-04-20': { leaf: 'five-lobed' },
      '2026-04-20': { leaf: 'unlobed' },
    });
    expect(found).toMatchObject([{ trait: 'leaf', kind: 'odd-one-out', records: [{ date: '2025-04-20' }] }]);
  });

  it('a caprifig that bore edible pulp once', async () => {
    const found = await contradictionsOf({
      '2024-08-20': { inside: 'stamens', fruit: 'ripe', wood: 'new' },
      '2025-08-20': { inside: 'stamens', fruit: 'ripe', wood: 'new' },
      '2026-08-20': { inside: 'pulp', fruit: 'ripe', wood: 'new' },
    });
    expect(found).toMatchObject([{ trait: 'type', kind: 'odd-one-out', records: [{ date: '2026-08-20' }] }]);
  });

  it('names both where it cannot be told which is wrong', async () => {
    const found = await contradictionsOf({
      '2024-04-20': { leaf: 'unlobed' },
      '2026-04-20': { leaf: 'five-lobed' },
    });
    expect(found).toMatchObject([{ records: [{ date: '2024-04-20' }, { date: '2026-04-20' }] }]);
  });

  it('knows a change for good', async () => {
    const found = await contradictionsOf({
      '2023-04-20': { leaf: 'unlobed' },
      '2024-04-20': { leaf: 'unlobed' },
      '2024-09-20': { leaf: 'unlobed' },
      '2025-04-20': { leaf: 'five-lobed' },
      '2025-09-20': { leaf: 'five-lobed' },
      '2026-04-20': { leaf: 'five-lobed' },
    });
    expect(found).toMatchObject([{ trait: 'leaf', kind: 'changed' }]);
    expect(found[0]?.records[0]?.date).toBe('2025-04-20');
  });
});

it('nothing seen, one plant, no plant: no doubts', async () => {
  for (const histories of [[], [seenOn(1, A)].slice(1), [seenOn(1, {})], [seenOn(1, {}), seenOn(2, {})]]) {
    expect(await doubtsAbout(histories)).toMatchObject({ doubts: [], contradictions: [] });
  }
});

describe('of any garden', () => {
  const listed = ({ doubts }: DoubtsReport) =>
    doubts
      .map(({ a, b, probability, between }) => ({
        keys: [a.plant.key, b?.plant.key ?? ''].sort().join(' '),
        probability: probability.toFixed(9),
        between,
      }))
      .sort((x, y) => (x.keys < y.keys ? -1 : 1));
  const shuffled = (histories: readonly History[], order: readonly number[]): History[] =>
    order.map((from, index) => {
      const { plant, observations } = histories[from] as History;
      const number = index + 1;
      return { plant: { ...plant, number, id: idOfNumber(number, 5) }, observations };
    });

  it('neither the order of enrolment nor the IDs matter, nor which of a pair comes first', async () => {
    let compared = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 0, max: 1e6 }),
        fc.shuffledSubarray(
          Array.from({ length: 100 }, (_, index) => index),
          { minLength: 100 },
        ),
        async (seed, order) => {
          const { histories } = simulateSeen(100, 0.08, REALISTIC, seed);
          const plain = listed(await doubtsAbout(histories));
          expect(listed(await doubtsAbout(shuffled(histories, order)))).toEqual(plain);
          compared += plain.length;
        },
      ),
      { seed: 20261125, numRuns: 25 },
    );
    expect(compared).toBeGreaterThan(5);
  });

  it('probabilities are probabilities, and a plant is in one doubt at most', async () => {
    for (let seed = 0; seed < 10; seed++) {
      const { doubts } = await doubtsAbout(simulateSeen(200, 0.08, REALISTIC, seed).histories);
      const named = doubts.flatMap(({ a, b }) => [a.plant.id, ...(b === null ? [] : [b.plant.id])]);
      expect(new Set(named).size).toBe(named.length);
      for (const { probability, between } of doubts) {
        expect(probability).toBeGreaterThanOrEqual(DOUBTS.list);
        expect(probability).toBeLessThanOrEqual(1);
        expect(between.from <= between.to).toBe(true);
      }
    }
  });
});

it('a ledger that reads its plants anew each time gives the same as histories in memory', async () => {
  const { histories } = simulateSeen(600, 0.05, REALISTIC, 20261125);
  const { ledger } = await ledgerWith([]);
  await ledger.write('wren', async (writer) => {
    for (const { plant } of histories) {
      const { ended: _ended, ...body } = plant;
      await writer.append({ kind: 'plant-enrolled', body });
    }
    for (const { plant, observations } of histories) {
      for (const { date, values, issue } of observations) {
        await writer.append({ kind: 'observed', body: { id: plant.id, issue, date, values, photo: null } });
      }
    }
  });
  const shown = ({ doubts }: DoubtsReport) =>
    doubts.map(({ a, b, probability, between }) => [a.plant.id, b?.plant.id, probability, between]);
  const found = shown(await findDoubts(ledger));
  expect(found.filter(([, b]) => b !== undefined).length).toBeGreaterThan(2);
  expect(found).toEqual(shown(await doubtsAbout(histories)));
});

/** The least k that a binomial count exceeds with a probability under 0.001, by adding up its terms. */
function rarelyAbove(trials: number, share: number): number {
  let term = (1 - share) ** trials;
  let sum = term;
  let k = 0;
  for (; sum < 0.999; k++) {
    term *= ((trials - k) / (k + 1)) * (share / (1 - share));
    sum += term;
  }
  return k;
}

it('the bound used below is that of the binomial distribution', () => {
  // B(10, 1/2): P(X ≤ 9) = 1023/1024 = 0.9990 (by hand); B(20, 0.05): P(X ≤ 4) = 0.9974, P(X ≤ 5) = 0.9997
  // (tables of the binomial distribution).
  expect(rarelyAbove(10, 0.5)).toBe(9);
  expect(rarelyAbove(20, 0.05)).toBe(5);
});

describe('in gardens of known truth', () => {
  it('no more exchanges are said where there was none than is stated', async () => {
    const gardens = 30;
    const noisy = { ...REALISTIC, leafMisjudged: 0.05, colourMisjudged: 0.05 };
    const { falseAlarms } = await doubtsFiguresOf(gardens, 300, 0, noisy, 20261125);
    expect(falseAlarms).toBeLessThanOrEqual(rarelyAbove(gardens, DOUBTS.falseAlarms));
  }, 60_000);

  it('exchanges that left a trace are found, and what is listed is mostly right', async () => {
    const figures = await doubtsFiguresOf(15, 300, 0.05, REALISTIC, 20261125);
    const { tracesListed, days, said } = figures;
    expect(tracesListed.of).toBeGreaterThan(25);
    // Two in three are found in larger runs (the bench); fewer than two in five would be rare luck.
    expect(tracesListed.right).toBeGreaterThanOrEqual(tracesListed.of - rarelyAbove(tracesListed.of, 0.4));
    const wrong = said.filter(({ isRight }) => !isRight).length;
    const expected = said.reduce((sum, { probability }) => sum + 1 - probability, 0) / said.length;
    expect(wrong).toBeLessThanOrEqual(rarelyAbove(said.length, Math.max(0.1, expected)));
    expect(days.of - days.right).toBeLessThanOrEqual(rarelyAbove(days.of, 1 - DOUBTS.credible));
  }, 60_000);
});
