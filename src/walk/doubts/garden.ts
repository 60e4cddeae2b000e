/**
 * What the whole garden shows of each trait: how it is spread, how often a value is wrong, how far numbers
 * scatter. A trait that keeps changing on most plants (the pot's size, ripeness, a word that went out of
 * use) thereby loses its say by itself.
 */
import { WALK } from '../parameters.js';
import {
  type Belief,
  categoryOf,
  density,
  garden as gardenDensity,
  growthFrom,
  heightBelief,
  type Spread,
} from '../traits.js';
import { DAYS_A_YEAR, type PlantHistory } from './history.js';
import { DOUBTS } from './parameters.js';

export interface Dated {
  readonly value: string | number;
  readonly day: number;
}

/** What is known of a trait, to weigh its values by. */
export interface TraitModel {
  /** How often a value says nothing. */
  readonly wrong: number;
  /** How much likelier the later value is after the earlier one, on one plant, than on any plant. */
  ratio(before: Dated, after: Dated): number;
}

interface Link {
  readonly before: number;
  readonly after: number;
  readonly years: number;
}

interface Counts {
  readonly values: Map<string, number>;
  of: number;
  isNumber: boolean;
  sum: number;
  squares: number;
  readonly links: Link[];
  pairs: number;
  unlike: number;
}

/** Fed all histories one by one, it then has a model of each trait. */
export class GardenTraits {
  readonly #counts = new Map<string, Counts>();
  readonly #models = new Map<string, TraitModel>();

  add({ records }: PlantHistory): void {
    const last = new Map<string, Dated>();
    for (const { day, values } of records) {
      for (const [trait, value] of values) {
        const counts = this.#countsOf(trait);
        count(counts, value);
        const before = last.get(trait);
        if (before !== undefined) link(counts, before, { value, day });
        last.set(trait, { value, day });
      }
    }
  }

  model(trait: string): TraitModel {
    let model = this.#models.get(trait);
    if (model === undefined) {
      const counts = this.#countsOf(trait);
      model = counts.isNumber ? numberModel(trait, counts) : categoryModel(counts);
      this.#models.set(trait, model);
    }
    return model;
  }

  #countsOf(trait: string): Counts {
    let counts = this.#counts.get(trait);
    if (counts === undefined) {
      counts = {
        values: new Map(),
        of: 0,
        isNumber: true,
        sum: 0,
        squares: 0,
        links: [],
        pairs: 0,
        unlike: 0,
      };
      this.#counts.set(trait, counts);
    }
    return counts;
  }
}

function count(counts: Counts, value: string | number): void {
  counts.of++;
  if (typeof value === 'number') {
    counts.sum += value;
    counts.squares += value * value;
  } else counts.isNumber = false;
  const category = categoryOf(value);
  counts.values.set(category, (counts.values.get(category) ?? 0) + 1);
}

function link(counts: Counts, before: Dated, after: Dated): void {
  counts.pairs++;
  if (categoryOf(before.value) !== categoryOf(after.value)) counts.unlike++;
  if (counts.links.length >= DOUBTS.mostLinks) return;
  const years = yearsBetween(before, after);
  counts.links.push({ before: Number(before.value), after: Number(after.value), years });
}

function yearsBetween(before: Dated, after: Dated): number {
  return Number.isFinite(before.day) ? (after.day - before.day) / DAYS_A_YEAR : 0;
}

function categoryModel({ values, of, pairs, unlike }: Counts): TraitModel {
  const spread: Spread = { kind: 'category', counts: values, of };
  const lasts = 1 - DOUBTS.changed;
  return {
    wrong: wrongShare(values, of, pairs, unlike),
    ratio(before, after) {
      const belief: Belief = { kind: 'category', value: categoryOf(before.value) };
      return DOUBTS.changed + (lasts * density(belief, after.value)) / gardenDensity(spread, after.value);
    },
  };
}

/**
 * The share of wrong values that the unlike pairs of the garden come from. Two right values are alike, and
 * any other pair is by chance; so of all pairs 1 − (1 − w)² times the chance of unlikeness are unlike.
 */
function wrongShare(values: ReadonlyMap<string, number>, of: number, pairs: number, unlike: number): number {
  let alike = 0;
  for (const times of values.values()) alike += (times / of) ** 2;
  if (alike >= 1) return WALK.valueWrong;
  const rule = (1 - (1 - WALK.valueWrong) ** 2) * (1 - alike);
  const share = (DOUBTS.countedPairs * rule + unlike) / (DOUBTS.countedPairs + pairs);
  return 1 - Math.sqrt(Math.max(0, 1 - share / (1 - alike)));
}

function numberModel(trait: string, { of, sum, squares, links }: Counts): TraitModel {
  const mean = sum / of;
  const sd = Math.sqrt(Math.max(0, squares / of - mean * mean)) || 1;
  const spread: Spread = { kind: 'number', mean, sd };
  const growth = growthFrom(links.map(({ before, after, years }) => ({ years, grownCm: after - before })));
  const belief = (before: number, years: number) =>
    trait === 'height' ? heightBelief(before, years, growth) : { mean: before, sd: sd * WALK.numberScatter };
  const wider = widening(links, belief);
  return {
    wrong: WALK.valueWrong,
    ratio(before, after) {
      const { mean: expected, sd: narrow } = belief(Number(before.value), yearsBetween(before, after));
      const own: Belief = { kind: 'number', mean: expected, sd: narrow * wider };
      // A belief as wide as the garden says nothing.
      const tells = Math.max(0, 1 - (own.sd / sd) ** 2) * (1 - DOUBTS.changed);
      return 1 - tells + (tells * density(own, after.value)) / gardenDensity(spread, after.value);
    },
  };
}

/** Nine in ten values of a bell lie within this many of its standard deviations. */
const NINE_IN_TEN = 1.645;

/** By how much a belief has to be widened until nine in ten of the garden's links lie within it as in a bell. */
function widening(
  links: readonly Link[],
  belief: (before: number, years: number) => { readonly mean: number; readonly sd: number },
): number {
  if (links.length < WALK.leastForGrowth) return 1;
  const away = links.map(({ before, after, years }) => {
    const { mean, sd } = belief(before, years);
    return Math.abs(after - mean) / sd;
  });
  away.sort((a, b) => a - b);
  return Math.max(1, (away[Math.floor(0.9 * away.length)] as number) / NINE_IN_TEN);
}
