/**
 * Traits as evidence of which plant a pot is: what was seen now, against what the ledger holds.
 *
 * A seen value either fits the plant or, with a small probability, says nothing and is as good as any in
 * the garden; so no single value can rule a plant out. Traits count as independent of each other.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { Plant } from '../ledger/model.js';
import { TRAITS } from '../observe/vocabulary.js';
import { insideShares } from './inside.js';
import { WALK } from './parameters.js';
import { traitName } from './rows.js';

/** A value with the day it was seen; null for a column of the grower's CSV. */
export interface Known {
  readonly value: string | number;
  readonly date: string | null;
}

/** Trait → the latest value seen on the plant. */
export type Seen = ReadonlyMap<string, Known>;

/** What a trait of one plant will be now. */
export type Belief =
  | { readonly kind: 'number'; readonly mean: number; readonly sd: number }
  | { readonly kind: 'category'; readonly value: string }
  /** Several categories, each with its probability. */
  | { readonly kind: 'shares'; readonly shares: ReadonlyMap<string, number> };

/** What a trait is over the garden. */
export type Spread =
  | { readonly kind: 'number'; readonly mean: number; readonly sd: number }
  | { readonly kind: 'category'; readonly counts: ReadonlyMap<string, number>; readonly of: number };

const DAYS_A_YEAR = 365.25;

/** Words of the vocabulary that say how a plant fares on a day, or what someone thought of it. */
const PASSING = new Set([
  ...['fruit', 'wood', 'pollination', 'liking', 'flavour', 'weather'],
  ...['note', 'germinated', 'alive', 'keep', 'name', 'station'],
]);

/** That a trait stays with a plant, so that it can tell plants apart. */
export function isLasting(trait: string): boolean {
  return !PASSING.has(trait);
}

/** In cm a year. */
export interface Growth {
  readonly mean: number;
  readonly sd: number;
}

export class TraitKnowledge {
  readonly #beliefs = new Map<string, Map<PlantId, Belief>>();
  readonly #spreads = new Map<string, Spread>();
  readonly #known: ReadonlyMap<PlantId, Seen>;

  /**
   * @param plants whose traits make up the garden
   * @param seen what observations hold; columns of the grower's CSV are taken where they say nothing
   * @param growth of plants measured before and now, in cm a year
   */
  constructor(
    plants: readonly Plant[],
    seen: ReadonlyMap<PlantId, Seen>,
    readonly date: string,
    readonly growth: Growth,
  ) {
    this.#known = new Map(plants.map((plant) => [plant.id, withColumns(plant, seen.get(plant.id))]));
  }

  /** What the ledger holds of a trait of a plant. */
  known(trait: string, id: PlantId): Known | undefined {
    return this.#known.get(id)?.get(trait);
  }

  belief(trait: string, id: PlantId): Belief | undefined {
    return this.#beliefsOf(trait).get(id);
  }

  /** Over all plants of which the trait is known; undefined if there is none. */
  spread(trait: string): Spread | undefined {
    this.#beliefsOf(trait);
    return this.#spreads.get(trait);
  }

  /** How much likelier the value is for this plant than for any pot of the garden. */
  ratio(trait: string, value: string | number, id: PlantId): number {
    return this.ratios(trait, value)(id);
  }

  /** The same for one value and many plants. */
  ratios(trait: string, value: string | number): (id: PlantId) => number {
    const beliefs = this.#beliefsOf(trait);
    const spread = this.spread(trait);
    if (spread === undefined || PASSING.has(trait)) return () => 1;
    const common = garden(spread, value);
    return (id) => {
      const belief = beliefs.get(id);
      if (belief === undefined) return 1;
      return WALK.valueWrong + ((1 - WALK.valueWrong) * density(belief, value)) / common;
    };
  }

  #beliefsOf(trait: string): Map<PlantId, Belief> {
    const before = this.#beliefs.get(trait);
    if (before !== undefined) return before;
    const known = [...this.#known].flatMap(([id, traits]) => {
      const value = traits.get(trait);
      return value === undefined ? [] : [[id, value] as const];
    });
    if (trait === 'inside') return this.#keep(trait, this.#insides());
    const isNumber = known.every(([, { value }]) => typeof value === 'number');
    const scatter = isNumber ? sdOf(known.map(([, { value }]) => Number(value))) * WALK.numberScatter : 0;
    const beliefs = new Map(
      known.map(([id, one]) => [id, isNumber ? this.#number(trait, one, scatter) : category(one)]),
    );
    return this.#keep(trait, beliefs);
  }

  #keep(trait: string, beliefs: Map<PlantId, Belief>): Map<PlantId, Belief> {
    this.#beliefs.set(trait, beliefs);
    if (beliefs.size > 0) this.#spreads.set(trait, spreadOf([...beliefs.values()]));
    return beliefs;
  }

  /** A fig's fruit inside, also of plants of which only the type is known. */
  #insides(): Map<PlantId, Belief> {
    return new Map(
      [...this.#known].flatMap(([id, traits]) => {
        const [type, before] = [traits.get('type')?.value, traits.get('inside')?.value];
        const shares = insideShares(
          type === undefined ? null : String(type),
          before === undefined ? undefined : String(before),
        );
        return shares === undefined ? [] : [[id, { kind: 'shares', shares }] as const];
      }),
    );
  }

  #number(trait: string, { value, date }: Known, scatter: number): Belief {
    const last = Number(value);
    if (trait !== 'height' || date === null) return { kind: 'number', mean: last, sd: scatter || 1 };
    return heightBelief(last, Math.max(0, daysBetween(date, this.date)) / DAYS_A_YEAR, this.growth);
  }
}

/** A height so many years after it was measured. */
export function heightBelief(lastCm: number, years: number, { mean, sd }: Growth) {
  const error = lastCm * WALK.heightError.share + WALK.heightError.cm;
  return { kind: 'number', mean: lastCm + mean * years, sd: Math.hypot(error, sd * years) } as const;
}

/** Of the traits in these records, those that stay with a plant. */
export function lastingTraits(seen: Iterable<ReadonlyMap<string, unknown>>): string[] {
  const traits = new Set<string>();
  for (const one of seen) for (const trait of one.keys()) if (isLasting(trait)) traits.add(trait);
  return [...traits];
}

/** Growth in cm a year: of plants known for certain and measured both before and now, if enough were. */
export function growthOf(
  measured: readonly { readonly before: Known; readonly now: number }[],
  date: string,
): Growth {
  return growthFrom(
    measured.map(({ before, now }) => ({
      years: before.date === null ? 0 : daysBetween(before.date, date) / DAYS_A_YEAR,
      grownCm: now - Number(before.value),
    })),
  );
}

/** The same, of plants measured twice with so many years between. */
export function growthFrom(
  measured: readonly { readonly years: number; readonly grownCm: number }[],
): Growth {
  // Within a month the folding rule's error is larger than the growth.
  const rates = measured.flatMap(({ years, grownCm }) => (years > 1 / 12 ? [grownCm / years] : []));
  if (rates.length < WALK.leastForGrowth) return WALK.growthCmPerYear;
  return { mean: meanOf(rates), sd: sdOf(rates) };
}

/** @returns the density of a number, the probability of a category */
export function density(belief: Belief, value: string | number): number {
  if (belief.kind === 'category') return belief.value === categoryOf(value) ? 1 : 0;
  if (belief.kind === 'shares') return belief.shares.get(categoryOf(value)) ?? 0;
  const z = (Number(value) - belief.mean) / belief.sd;
  return Number.isNaN(z) ? 0 : Math.exp((-z * z) / 2) / (belief.sd * Math.sqrt(2 * Math.PI));
}

/** The same over the garden; never quite nothing. */
export function garden(spread: Spread, value: string | number): number {
  if (spread.kind === 'number') {
    // A tenth in a much wider bell: gardens hold more odd plants than one bell would.
    const wide = density({ ...spread, sd: spread.sd * 4 }, value);
    return 0.9 * density(spread, value) + 0.1 * wide + Number.MIN_VALUE;
  }
  // One more of every category seen, and one for any other.
  return ((spread.counts.get(categoryOf(value)) ?? 0) + 1) / (spread.of + spread.counts.size + 1);
}

export function categoryOf(value: string | number): string {
  return String(value).trim().toLowerCase();
}

function category({ value }: Known): Belief {
  return { kind: 'category', value: categoryOf(value) };
}

function spreadOf(beliefs: readonly Belief[]): Spread {
  const numbers = beliefs.filter((belief) => belief.kind === 'number');
  if (numbers.length > 0) {
    const means = numbers.map(({ mean }) => mean);
    const within = meanOf(numbers.map(({ sd }) => sd * sd));
    return { kind: 'number', mean: meanOf(means), sd: Math.sqrt(sdOf(means) ** 2 + within) };
  }
  const counts = new Map<string, number>();
  for (const belief of beliefs) {
    if (belief.kind === 'number') continue;
    const shares = belief.kind === 'shares' ? belief.shares : [[belief.value, 1] as const];
    for (const [value, share] of shares) counts.set(value, (counts.get(value) ?? 0) + share);
  }
  return { kind: 'category', counts, of: beliefs.length };
}

const VOCABULARY = new Map(TRAITS.map((trait) => [trait.name, trait]));

function withColumns(plant: Plant, seen: Seen | undefined): Seen {
  const type = plant.type === null ? [] : [['type', { value: plant.type, date: null }] as const];
  return new Map([...type, ...columnTraits(plant), ...(seen ?? [])]);
}

/** What the grower's CSV says of a plant: of no known day. */
export function columnTraits(plant: Plant): Map<string, Known> {
  const known = new Map<string, Known>();
  for (const [heading, cell] of Object.entries(plant.extra)) {
    const trait = traitName(heading);
    if (known.has(trait)) continue;
    const kind = VOCABULARY.get(trait)?.kind ?? 'any';
    const number = kind === 'number' || kind === 'any' ? Number(cell.trim().replace(',', '.')) : Number.NaN;
    // A height of an unknown day tells nothing of the height now.
    if (trait === 'height' || (kind === 'number' && Number.isNaN(number))) continue;
    known.set(trait, { value: Number.isNaN(number) ? cell : number, date: null });
  }
  return known;
}

function daysBetween(from: string, to: string): number {
  return (Date.parse(to) - Date.parse(from)) / 86_400_000;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function sdOf(values: readonly number[]): number {
  if (values.length < 2) return 0;
  const mean = meanOf(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
}
