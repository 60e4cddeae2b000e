/**
 * Plants in the order of a weighted sum of what they are predicted to be worth, with how sure each rank is,
 * and which plants no weights could bring to the front.
 */
import type { MixedModel } from './mixed-model.js';
import { normal } from './random.js';

/** One criterion as fitted, and what the grower gives for a standard deviation of it. */
export interface Weighed {
  readonly model: MixedModel;
  readonly weight: number;
}

export interface Ranked {
  /** Counts from 0. */
  readonly plant: number;
  readonly score: number;
  readonly rank: number;
  /** Nine times in ten the true rank is between these. */
  readonly rankLow: number;
  readonly rankHigh: number;
  /** A plant predicted as good or better in everything that has a weight; null if there is none. */
  readonly outdoneBy: number | null;
}

const SEED = 20261125;
const DRAWS = 400;
/** Of many plants the ranks are thousands: fewer draws tell them as well as need be. */
const MANY_PLANTS = 10_000;
const DRAWS_OF_MANY = 100;
const TAIL = 0.05;

/**
 * The best of the chosen plants. Grows with the number of chosen times its logarithm.
 * @param familyOf of every plant of the models
 * @param top how many to return
 */
export function rankPlants(
  weighed: readonly Weighed[],
  familyOf: readonly number[],
  chosen: readonly number[],
  top: number,
): Ranked[] {
  const useful = weighed.filter(({ model, weight }) => weight !== 0 && spreadOf(model) > 0);
  const scale = useful.reduce((sum, { weight }) => sum + Math.abs(weight), 0) || 1;
  const terms = useful.map(({ model, weight }) => ({ model, factor: weight / scale / spreadOf(model) }));
  const worthOf = ({ model, factor }: Term, place: number) => {
    const plant = chosen[place] as number;
    return factor * deviation(model, familyOf[plant] as number, plant);
  };
  const scores = chosen.map((_, place) => terms.reduce((sum, term) => sum + worthOf(term, place), 0));
  const best = descending(scores).slice(0, top);
  const worths = terms.map((term) => new Map(best.map((place) => [place, worthOf(term, place)])));
  const intervals = rankIntervals(terms, familyOf, chosen, best);
  const outdone = outdoneBy(worths, best);
  return best.map((place, index) => {
    const better = outdone.get(place);
    return {
      plant: chosen[place] as number,
      score: scores[place] as number,
      rank: index + 1,
      ...(intervals[index] as { rankLow: number; rankHigh: number }),
      outdoneBy: better === undefined ? null : (chosen[better] as number),
    };
  });
}

interface Term {
  readonly model: MixedModel;
  /** From the criterion's unit to the score. */
  readonly factor: number;
}

/** Of one measurement of one plant, all causes together. */
export function spreadOf({ variances: { family, plant, rest } }: MixedModel): number {
  return Math.sqrt(family + plant + rest);
}

export function deviation({ families, plants }: MixedModel, family: number, plant: number): number {
  return (families[family]?.value ?? 0) + (plants[plant]?.value ?? 0);
}

/** Of each of `best`, from draws of what the models leave open: plants of a family vary together. */
function rankIntervals(
  terms: readonly Term[],
  familyOf: readonly number[],
  chosen: readonly number[],
  best: readonly number[],
): { rankLow: number; rankHigh: number }[] {
  const gauss = normal(SEED);
  const draws = chosen.length > MANY_PLANTS ? DRAWS_OF_MANY : DRAWS;
  const ranks = best.map(() => new Uint32Array(draws));
  for (let draw = 0; draw < draws; draw++) {
    const scores = drawScores(terms, familyOf, chosen, gauss);
    const ascending = Float64Array.from(scores).sort();
    best.forEach((place, index) => {
      (ranks[index] as Uint32Array)[draw] = countAbove(ascending, scores[place] as number) + 1;
    });
  }
  return ranks.map((own) => {
    own.sort();
    const at = (share: number) => own[Math.round(share * (draws - 1))] as number;
    return { rankLow: at(TAIL), rankHigh: at(1 - TAIL) };
  });
}

function drawScores(
  terms: readonly Term[],
  familyOf: readonly number[],
  chosen: readonly number[],
  gauss: () => number,
): Float64Array {
  const scores = new Float64Array(chosen.length);
  for (const { model, factor } of terms) {
    const { families, plants, variances } = model;
    const offs = families.map(({ variance }) => gauss() * Math.sqrt(variance));
    chosen.forEach((plant, place) => {
      const family = familyOf[plant] as number;
      const { variance } = plants[plant] ?? { variance: 0 };
      // A plant's own measurements hold it where it is, whatever its family is.
      const pulled = variances.plant === 0 ? 1 : variance / variances.plant;
      const drawn =
        deviation(model, family, plant) + pulled * (offs[family] as number) + gauss() * Math.sqrt(variance);
      scores[place] = (scores[place] as number) + factor * drawn;
    });
  }
  return scores;
}

/** How many of the sorted values are larger. */
function countAbove(ascending: Float64Array, value: number): number {
  let [low, high] = [0, ascending.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((ascending[middle] as number) > value) high = middle;
    else low = middle + 1;
  }
  return ascending.length - low;
}

/**
 * Who is outdone by whom. Only plants that are not outdone themselves need be looked at, and only those with
 * a better sum can outdo.
 */
function outdoneBy(
  worths: readonly ReadonlyMap<number, number>[],
  order: readonly number[],
): Map<number, number> {
  const front: number[] = [];
  const outdone = new Map<number, number>();
  for (const place of order) {
    const better = front.find((other) => {
      const differences = worths.map((worth) => (worth.get(other) as number) - (worth.get(place) as number));
      return (
        differences.every((difference) => difference >= 0) && differences.some((difference) => difference > 0)
      );
    });
    if (better === undefined) front.push(place);
    else outdone.set(place, better);
  }
  return outdone;
}

function descending(values: ArrayLike<number>): number[] {
  const places = Array.from({ length: values.length }, (_, index) => index);
  return places.sort((a, b) => (values[b] as number) - (values[a] as number) || a - b);
}
