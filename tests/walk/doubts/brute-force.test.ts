/**
 * The Bayes factor of an exchange beside one that was worked out the long way: every choice of right and wrong
 * values, every type, every day that may be another plant's, every day of exchange, added up from the rules as
 * doubts/one-plant.ts and doubts/exchange-day.ts state them. It shares no code with them but the parameters.
 */
import { describe, expect, it } from 'vitest';
import type { History } from '../../../src/ledger/model.js';
import { typeLogLikelihood } from '../../../src/observe/type-evidence.js';
import { weighAlone, weighPair } from '../../../src/walk/doubts/exchange-day.js';
import { logAsOnePlant } from '../../../src/walk/doubts/one-plant.js';
import { DOUBTS } from '../../../src/walk/doubts/parameters.js';
import { WALK } from '../../../src/walk/parameters.js';
import { gardenOf, seenOn } from './histories.js';

/** All ways to choose some of these. */
function subsets(count: number): number[][] {
  const all = Array.from({ length: count }, (_, index) => index);
  return Array.from({ length: 2 ** count }, (_, chosen) => all.filter((index) => (chosen >> index) & 1));
}

interface Day {
  readonly leaf?: string;
  /** P(what was seen of the fruit | type), over its mean. */
  readonly types?: readonly number[];
}

/** Shares of the leaves in the garden, as walk/traits.ts counts them: one more of each, and one for any other. */
function shares(leaves: readonly string[]): Map<string, number> {
  const kinds = new Set(leaves);
  const count = (leaf: string) => leaves.filter((other) => other === leaf).length;
  return new Map([...kinds].map((leaf) => [leaf, (count(leaf) + 1) / (leaves.length + kinds.size + 1)]));
}

function leavesRatio(leaves: readonly string[], share: Map<string, number>, wrong: number): number {
  let sum = 0;
  for (const right of subsets(leaves.length)) {
    let ways = 1;
    for (let index = 0; index < leaves.length; index++) ways *= right.includes(index) ? 1 - wrong : wrong;
    for (const [place, index] of right.entries()) {
      const before = right[place - 1];
      if (before === undefined) continue;
      const leaf = leaves[index] as string;
      const isAlike = leaves[before] === leaf;
      ways *= DOUBTS.changed + (isAlike ? (1 - DOUBTS.changed) / (share.get(leaf) as number) : 0);
    }
    sum += ways;
  }
  return sum;
}

function typesRatio(says: readonly (readonly number[])[]): number {
  let sum = DOUBTS.unlikeAnyType;
  for (const type of [0, 1, 2, 3]) {
    sum += ((1 - DOUBTS.unlikeAnyType) / 4) * says.reduce((all, one) => all * (one[type] as number), 1);
  }
  return sum;
}

function onePlant(days: readonly Day[], share: Map<string, number>, wrong: number): number {
  const product = (some: readonly Day[]) =>
    leavesRatio(
      some.flatMap(({ leaf }) => leaf ?? []),
      share,
      wrong,
    ) * typesRatio(some.flatMap(({ types }) => (types === undefined ? [] : [types])));
  const odds = DOUBTS.dayElsewhere / (1 - DOUBTS.dayElsewhere);
  return (
    product(days) + odds * days.reduce((sum, day) => sum + product(days.filter((other) => other !== day)), 0)
  );
}

const A = {
  '2024-04-20': { leaf: 'unlobed' },
  '2025-04-20': { leaf: 'unlobed' },
  '2025-09-10': { inside: 'stamens', fruit: 'ripe' },
  '2026-04-20': { leaf: 'five-lobed' },
  '2026-09-01': { inside: 'pulp', fruit: 'ripe' },
};
const B = {
  '2024-04-20': { leaf: 'five-lobed' },
  '2025-09-12': { inside: 'pulp', fruit: 'ripe' },
  '2026-04-20': { leaf: 'unlobed' },
};
const OTHERS = {
  '2024-04-20': { leaf: 'narrow' },
  '2025-04-20': { leaf: 'narrow' },
};
const GARDEN = [seenOn(1, A), seenOn(2, B), seenOn(3, OTHERS)];

function daysOf({ observations }: History): Map<string, Day> {
  const years = new Map<string, Day>();
  let before = [0, 0, 0, 0];
  observations.forEach(({ date, values }, index) => {
    if (values.leaf !== undefined) {
      years.set(date, { leaf: String(values.leaf) });
      return;
    }
    const now = typeLogLikelihood(observations.slice(0, index + 1), false);
    const ratios = now.map((value, type) => Math.exp(value - (before[type] as number)));
    before = [...now];
    const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / 4;
    years.set(date, { types: ratios.map((ratio) => ratio / mean) });
  });
  return years;
}

/** Of the pairs of leaves that follow one another 2 of 4 are unlike (in a, in b; alike in a, in the third). */
function wrongShare(leaves: readonly string[]): number {
  const kinds = [...new Set(leaves)];
  const alike = kinds.reduce(
    (sum, kind) => sum + (leaves.filter((leaf) => leaf === kind).length / leaves.length) ** 2,
    0,
  );
  const rule = (1 - (1 - WALK.valueWrong) ** 2) * (1 - alike);
  const unlike = (DOUBTS.countedPairs * rule + 2) / (DOUBTS.countedPairs + 4);
  return 1 - Math.sqrt(1 - unlike / (1 - alike));
}

describe('the Bayes factor', () => {
  const leaves = GARDEN.flatMap(({ observations }) =>
    observations.flatMap(({ values }) => values.leaf ?? []),
  );
  const share = shares(leaves.map(String));
  const wrong = wrongShare(leaves.map(String));
  const [a, b] = [daysOf(GARDEN[0] as History), daysOf(GARDEN[1] as History)];
  const { garden, own } = gardenOf(GARDEN);
  const [historyA, historyB] = [own[0] as (typeof own)[0], own[1] as (typeof own)[0]];
  const alone = (history: (typeof own)[0]) => logAsOnePlant(history.records, garden);
  const part = (days: Map<string, Day>, isIn: (date: string) => boolean) =>
    [...days].filter(([date]) => isIn(date)).map(([, day]) => day);
  const together = (early: Map<string, Day>, late: Map<string, Day>, by: string) =>
    onePlant([...part(early, (date) => date < by), ...part(late, (date) => date >= by)], share, wrong);

  it('of one plant all the time is that of all choices added up', () => {
    for (const [history, days] of [
      [historyA, a],
      [historyB, b],
    ] as const) {
      expect(alone(history)).toBeCloseTo(Math.log(onePlant([...days.values()], share, wrong)), 10);
    }
  });

  it('of an exchange is the likelihood ratio averaged over the days between the records', () => {
    const dates = [...new Set([...a.keys(), ...b.keys()])].sort();
    let [sum, days] = [0, 0];
    const one = onePlant([...a.values()], share, wrong) * onePlant([...b.values()], share, wrong);
    dates.slice(1).forEach((by, index) => {
      const between = (Date.parse(by) - Date.parse(dates[index] as string)) / 86_400_000;
      sum += between * ((together(a, b, by) * together(b, a, by)) / one);
      days += between;
    });
    const { logBayesFactor, years } = weighPair(historyA, historyB, garden, alone);
    expect(Math.exp(logBayesFactor)).toBeCloseTo(sum / days, 6);
    expect(years).toBeCloseTo(days / 365.25, 10);
    // The histories were made to contradict each other: the long way must say so too.
    expect(sum / days).toBeGreaterThan(150);
  });

  it('with a plant of which nothing is known takes the days apart', () => {
    const dates = [...a.keys()];
    let [sum, days] = [0, 0];
    dates.slice(1).forEach((by, index) => {
      const between = (Date.parse(by) - Date.parse(dates[index] as string)) / 86_400_000;
      const apart = together(a, new Map(), by) * together(new Map(), a, by);
      sum += (between * apart) / onePlant([...a.values()], share, wrong);
      days += between;
    });
    expect(Math.exp(weighAlone(historyA, garden, alone).logBayesFactor)).toBeCloseTo(sum / days, 6);
  });
});
