import { describe, expect, it } from 'vitest';
import {
  holdingLine,
  isSanPedro,
  type SeenOnFig,
  typeLogLikelihood,
} from '../../src/observe/type-evidence.js';
import { CUT_FRUIT, FIG_TYPES, HOLDING, type PerType } from '../../src/observe/type-likelihoods.js';
import { findTrait } from '../../src/observe/vocabulary.js';

const [PERSISTENT, CADUCOUS, CAPRIFIG] = [0, 1, 2];

function seen(date: string, values: SeenOnFig['values']): SeenOnFig {
  return { date, values };
}

const dropped = (date: string) => seen(date, { fruit: 'dropped', wood: 'new', pollination: 'none' });
const ripe = (date: string, wood: 'new' | 'old' = 'new') =>
  seen(date, { fruit: 'ripe', wood, pollination: 'none' });

/** ln of the odds of one type against another. */
function logOdds(history: readonly SeenOnFig[], a: number, b: number, hasBorneBefore = true): number {
  const logs = typeLogLikelihood(history, hasBorneBefore);
  return (logs[a] as number) - (logs[b] as number);
}

describe('the table', () => {
  it('has a line for every circumstance', () => {
    for (const wood of [...(choices('wood') ?? []), undefined]) {
      for (const pollination of [...(choices('pollination') ?? []), undefined]) {
        for (const season of ['first', 'later'] as const) {
          expect(holdingLine(wood, pollination, season).held).toHaveLength(FIG_TYPES.length);
        }
      }
    }
  });

  it('has probabilities strictly between 0 and 1, a reason and a source in each line', () => {
    for (const { held, because, source } of HOLDING) expectLine(held, because, source);
    for (const { probability, because, source } of CUT_FRUIT) expectLine(probability, because, source);
  });

  it('gives what a cut fruit can be like the probability 1 in all, for each type', () => {
    for (const fruit of ['ripe', 'unripe'] as const) {
      const lines = CUT_FRUIT.filter((line) => line.fruit === fruit && line.seen !== 'tasted');
      expect(lines.map((line) => line.seen).sort()).toEqual([...(choices('inside') ?? [])].sort());
      FIG_TYPES.forEach((_, type) => {
        const sum = lines.reduce((total, { probability }) => total + (probability[type] as number), 0);
        expect(sum).toBeCloseTo(1, 10);
      });
    }
  });

  // Surprise 8: unpollinated ripe fruit on old wood must not count as persistence (San Pedro figs).
  it('lets old wood say nothing of persistence', () => {
    const history = [ripe('2026-06-20', 'old'), ripe('2027-06-22', 'old')];
    expect(logOdds(history, PERSISTENT, CADUCOUS)).toBe(0);
  });
});

describe('a history', () => {
  it('worked by hand: one ripe, one fallen day of one season on new wood, unpollinated', () => {
    // Beta-binomial with a + b = 2: held 0.8 gives 1.6/2 · 0.4/3, held 0.03 gives 0.06/2 · 1.94/3.
    const history = [ripe('2026-09-01'), dropped('2026-09-09')];
    expect(logOdds(history, PERSISTENT, CADUCOUS)).toBeCloseTo(
      Math.log((0.8 * 0.4) / 3 / ((0.03 * 1.94) / 3)),
      10,
    );
  });

  it('of one fruit that ripened unpollinated on new wood can hardly be caducous', () => {
    expect(Math.exp(logOdds([ripe('2026-09-01')], PERSISTENT, CADUCOUS))).toBeGreaterThan(20);
  });

  it('counts fruit that fell in the first season less than in a later one', () => {
    const history = [dropped('2026-08-20'), dropped('2026-08-27')];
    const first = logOdds(history, CADUCOUS, PERSISTENT, false);
    const later = logOdds(history, CADUCOUS, PERSISTENT, true);
    expect(first).toBeGreaterThan(0);
    expect(later).toBeGreaterThan(2 * first);
  });

  it('lets a fruit that fell within three weeks of frost say nothing, and one that fell later or before all', () => {
    const frost = seen('2026-09-01', { weather: 'frost' });
    for (const day of ['2026-09-01', '2026-09-10', '2026-09-22']) {
      expect(logOdds([frost, dropped(day)], CADUCOUS, PERSISTENT)).toBe(0);
    }
    for (const day of ['2026-08-31', '2026-09-23']) {
      expect(logOdds([frost, dropped(day)], CADUCOUS, PERSISTENT)).toBe(
        logOdds([dropped(day)], CADUCOUS, PERSISTENT),
      );
    }
    expect(logOdds([frost, ripe('2026-09-10')], PERSISTENT, CADUCOUS)).toBeGreaterThan(2);
  });

  it('says the same however often one day or one season is written down', () => {
    const once = [dropped('2026-08-20'), seen('2026-08-20', { inside: 'dry' })];
    expect(typeLogLikelihood([...once, ...once], true)).toEqual(typeLogLikelihood(once, true));
    const pulp = seen('2026-09-01', { fruit: 'ripe', inside: 'pulp' });
    const later = seen('2026-09-08', { fruit: 'swelling', inside: 'pulp' });
    expect(logOdds([pulp, seen('2026-09-01', { inside: 'pulp' })], 1, CAPRIFIG)).toBe(
      logOdds([pulp], 1, CAPRIFIG),
    );
    expect(logOdds([pulp, later], 1, CAPRIFIG)).toBeGreaterThan(logOdds([pulp], 1, CAPRIFIG));
  });

  it('of many falls in one season is weaker than of the same falls in two', () => {
    const oneSeason = [1, 2, 3, 4].map((day) => dropped(`2026-08-0${day}`));
    const twoSeasons = [
      dropped('2026-08-01'),
      dropped('2026-08-02'),
      dropped('2027-08-03'),
      dropped('2027-08-04'),
    ];
    expect(logOdds(oneSeason, CADUCOUS, PERSISTENT)).toBeLessThan(logOdds(twoSeasons, CADUCOUS, PERSISTENT));
  });

  it('with stamens is a caprifig, with pulp a female; a liked fruit says so less loudly', () => {
    const stamens = Math.exp(logOdds([seen('2026-07-01', { inside: 'stamens' })], CAPRIFIG, PERSISTENT));
    expect(stamens).toBeGreaterThan(100);
    const pulp = logOdds([seen('2026-09-01', { inside: 'pulp', liking: 8 })], PERSISTENT, CAPRIFIG);
    const tasted = logOdds([seen('2026-09-01', { liking: 8 })], PERSISTENT, CAPRIFIG);
    expect(pulp).toBeGreaterThan(tasted);
    expect(tasted).toBeGreaterThan(Math.log(5));
    expect(logOdds([seen('2026-09-01', { liking: 4 })], PERSISTENT, CAPRIFIG)).toBe(0);
  });

  it('without fruit says nothing', () => {
    expect(typeLogLikelihood([seen('2026-05-01', { height: 40, station: 'bench 1' })], false)).toEqual([
      0, 0, 0, 0,
    ]);
  });
});

describe('San Pedro', () => {
  it('is a breba crop held and a main crop dropped, both unpollinated', () => {
    const history = [dropped('2025-08-01'), ripe('2026-06-20', 'old'), dropped('2026-08-20')];
    expect(isSanPedro(history, false)).toBe(true);
  });

  it('is not said of a first season, of frost, or of a fig that holds the main crop too', () => {
    expect(isSanPedro([ripe('2026-06-20', 'old'), dropped('2026-08-20')], false)).toBe(false);
    const frost = seen('2026-08-18', { weather: 'frost' });
    expect(isSanPedro([ripe('2026-06-20', 'old'), frost, dropped('2026-08-20')], true)).toBe(false);
    expect(isSanPedro([ripe('2026-06-20', 'old'), dropped('2026-08-20'), ripe('2026-09-01')], true)).toBe(
      false,
    );
  });
});

function choices(name: string): readonly string[] | undefined {
  const trait = findTrait(name);
  return trait?.kind === 'choice' ? trait.values : undefined;
}

function expectLine(values: PerType, because: string, source: string): void {
  for (const value of values) {
    expect(value).toBeGreaterThan(0);
    expect(value).toBeLessThan(1);
  }
  expect(because).not.toBe('');
  expect(source).not.toBe('');
}
