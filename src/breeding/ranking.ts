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
const TAIL = 0.05;

/**
 * The chosen plants, best first. Grows with their number times its logarithm.
 * @param familyOf of every plant of the models
 */
export function rankPlants(
  weighed: readonly Weighed[],
  familyOf: readonly number[],
  chosen: readonly number[],
): Ranked[] {
  const useful = weighed.filter(({ model, weight }) => weight !== 0 && spreadOf(model) > 0);
  const scale = useful.reduce((sum, { weight }) => sum + Math.abs(weight), 0) || 1;
  const worths = useful.map(({ model, weight }) =>
    chosen.map(
      (plant) => (weight / scale / spreadOf(model)) * deviation(model, familyOf[plant] as number, plant),
    ),
  );
  const scores = chosen.map((_, place) => worths.reduce((sum, worth) => sum + (worth[place] as number), 0));
  const order = descending(scores);
  const ranks = drawRanks(useful, scale, familyOf, chosen);
  const outdone = outdoneBy(worths, order);
  const plantAt = (place: number) => chosen[place] as number;
  return order.map((place, index) => {
    const better = outdone.get(place);
    return {
      plant: plantAt(place),
      score: scores[place] as number,
      rank: index + 1,
      ...rankInterval(ranks, place),
      outdoneBy: better === undefined ? null : plantAt(better),
    };
  });
}

/** Of one measurement of one plant, all causes together. */
export function spreadOf({ variances: { family, plant, rest } }: MixedModel): number {
  return Math.sqrt(family + plant + rest);
}

export function deviation({ families, plants }: MixedModel, family: number, plant: number): number {
  return (families[family]?.value ?? 0) + (plants[plant]?.value ?? 0);
}

/** Ranks in draws from what the model leaves open: plants of a family vary together. Row: a draw. */
function drawRanks(
  useful: readonly Weighed[],
  scale: number,
  familyOf: readonly number[],
  chosen: readonly number[],
): Uint32Array[] {
  const gauss = normal(SEED);
  return Array.from({ length: DRAWS }, () => {
    const scores = new Float64Array(chosen.length);
    for (const { model, weight } of useful) {
      const { families, plants, variances } = model;
      const offs = families.map(({ variance }) => gauss() * Math.sqrt(variance));
      chosen.forEach((plant, place) => {
        const family = familyOf[plant] as number;
        const { variance } = plants[plant] ?? { variance: 0 };
        // A plant's own measurements hold it where it is, whatever its family is.
        const pulled = variances.plant === 0 ? 1 : variance / variances.plant;
        const drawn =
          deviation(model, family, plant) + pulled * (offs[family] as number) + gauss() * Math.sqrt(variance);
        scores[place] = (scores[place] as number) + (weight / scale / spreadOf(model)) * drawn;
      });
    }
    const ranks = new Uint32Array(chosen.length);
    descending(scores).forEach((place, index) => {
      ranks[place] = index + 1;
    });
    return ranks;
  });
}

function rankInterval(draws: readonly Uint32Array[], place: number): { rankLow: number; rankHigh: number } {
  const ranks = Uint32Array.from(draws, (draw) => draw[place] as number).sort();
  const at = (share: number) => ranks[Math.round(share * (ranks.length - 1))] as number;
  return { rankLow: at(TAIL), rankHigh: at(1 - TAIL) };
}

/**
 * Who is outdone by whom. Only plants that are not outdone themselves need be looked at, and only those with
 * a better sum can outdo.
 */
function outdoneBy(worths: readonly (readonly number[])[], order: readonly number[]): Map<number, number> {
  const front: number[] = [];
  const outdone = new Map<number, number>();
  for (const place of order) {
    const better = front.find((other) => {
      const differences = worths.map((worth) => (worth[other] as number) - (worth[place] as number));
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
