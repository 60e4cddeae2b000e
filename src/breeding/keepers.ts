/**
 * Which seedlings are worth keeping: every fruit, year and taster taken together, plants of little evidence
 * drawn toward their family. What was seen on cuttings and grafts counts for the seedling they were taken
 * from: it is one genotype.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import type { Crop } from '../observe/crops.js';
import type { PerType } from '../observe/type-likelihoods.js';
import type { Criterion } from './criteria.js';
import { typesOfCrosses } from './cross-types.js';
import { type CriterionColumns, type GatheredCrop, Gathering } from './genotypes.js';
import { CALLED_FROM } from './judged-type.js';
import { fitMixedModel, type MixedModel, type VarianceLimits } from './mixed-model.js';
import { deviation, type Ranked, rankPlants } from './ranking.js';
import { surveyCrosses } from './survey.js';

/** A criterion's name → its weight; 0 leaves it out, below 0 less is better. */
export type Weights = Readonly<Record<string, number>>;

export interface Keepers {
  readonly crops: readonly CropKeepers[];
  /** Plants with the verdict `keep yes`, living or not. */
  readonly named: readonly NamedKeeper[];
}

export interface CropKeepers {
  readonly crop: Crop;
  readonly criteria: readonly FittedCriterion[];
  readonly ranking: readonly RankedSeedling[];
  /** How many were ranked. */
  readonly living: number;
  /** Figs that are called caprifigs: nobody eats their fruit, so they are not ranked. */
  readonly caprifigs: number;
}

export interface FittedCriterion {
  readonly criterion: Criterion;
  readonly weight: number;
  readonly measurements: number;
  readonly plants: number;
  /** Measurements of a plant, by its number. */
  readonly countOf: (plant: number) => number;
  /** Null where nothing was measured. */
  readonly model: MixedModel | null;
}

export interface RankedSeedling extends Omit<Ranked, 'plant' | 'outdoneBy'> {
  readonly plant: Plant;
  readonly outdoneBy: PlantId | null;
  readonly keep: 'yes' | 'no' | null;
  readonly name: string | null;
  /** P(persistent female); null for other crops. */
  readonly persistentFemale: number | null;
  /** In the order of the criteria; null where nothing was measured of any plant. */
  readonly estimates: readonly (Estimate | null)[];
}

export interface Estimate {
  /** In the criterion's unit: the overall mean and the predicted deviation. */
  readonly value: number;
  readonly standardError: number;
  /** Measurements of this plant and its cuttings. */
  readonly measurements: number;
}

export interface NamedKeeper {
  readonly plant: Plant;
  readonly name: string | null;
  readonly since: string;
  /** Cuttings and grafts of it that live. */
  readonly cuttings: readonly Plant[];
}

/**
 * Reads the whole ledger once.
 * @param top how many of each crop to return
 */
export async function rankKeepers(
  ledger: LedgerReader,
  today: string,
  weights: Weights,
  top: number,
): Promise<Keepers> {
  const gathering = new Gathering();
  const tallies = await surveyCrosses(ledger, today, (history) => gathering.take(history));
  const types = await typesOfCrosses(ledger, tallies);
  const posteriors = new Map([...types.values()].flatMap((type) => [...type.posteriors]));
  const { crops, spoken } = await gathering.settle(ledger);
  const ranked = crops.map((crop) => rankCrop(crop, posteriors, weights, top));
  const named = [...spoken].filter(([, { keep }]) => keep?.value === 'yes');
  const ids = [
    ...ranked.flatMap(({ ranking }) => ranking.map(({ id }) => id)),
    ...named.flatMap(([id, { cuttings }]) => [id, ...cuttings]),
  ];
  const plants = new Map((await ledger.plantsByIds([...new Set(ids)])).map((plant) => [plant.id, plant]));
  const plantOf = (id: PlantId) => {
    const plant = plants.get(id);
    if (plant === undefined) throw new Error(`plant ${id} is gone from the ledger`);
    return plant;
  };
  return {
    crops: ranked.map(({ ranking, ...crop }) => ({
      ...crop,
      ranking: ranking.map(({ id, ...seedling }) => ({
        ...seedling,
        plant: plantOf(id),
        keep: (spoken.get(id)?.keep?.value as 'yes' | 'no' | undefined) ?? null,
        name: spoken.get(id)?.name?.value ?? null,
      })),
    })),
    named: named.map(([id, { keep, name, cuttings }]) => ({
      plant: plantOf(id),
      name: name?.value ?? null,
      since: keep?.date ?? '',
      cuttings: cuttings.map(plantOf).filter(({ ended }) => ended === null),
    })),
  };
}

/** A seedling of the ranking before its plant is looked up. */
interface RankedGenotype extends Omit<RankedSeedling, 'plant' | 'keep' | 'name'> {
  readonly id: PlantId;
}

function rankCrop(
  { crop, ids, familyOf, isAlive, criteria: columns }: GatheredCrop,
  posteriors: ReadonlyMap<PlantId, PerType>,
  weights: Weights,
  top: number,
): Omit<CropKeepers, 'ranking'> & { readonly ranking: readonly RankedGenotype[] } {
  const isCaprifig = ids.map((id) => {
    const [, , persistent, caducous] = posteriors.get(id) ?? [0, 0, 0, 0];
    return persistent + caducous >= CALLED_FROM;
  });
  const criteria = columns.map((own) =>
    fitCriterion(own, weights[own.criterion.name] ?? own.criterion.defaultWeight, familyOf, isCaprifig),
  );
  const weighed = criteria.flatMap(({ model, weight }) => (model === null ? [] : [{ model, weight }]));
  // The dead tell of their families too; only the living are ranked.
  const chosen = ids.flatMap((_, number) => (isAlive[number] && !isCaprifig[number] ? [number] : []));
  const ranking = rankPlants(weighed, familyOf, chosen, top).map(({ plant, outdoneBy, ...ranked }) => {
    const id = ids[plant] as PlantId;
    return {
      ...ranked,
      id,
      outdoneBy: outdoneBy === null ? null : (ids[outdoneBy] as PlantId),
      persistentFemale: crop.hasFigTypes ? (posteriors.get(id)?.[0] ?? null) : null,
      estimates: criteria.map(({ model, countOf }) =>
        model === null ? null : estimate(model, familyOf[plant] as number, plant, countOf(plant)),
      ),
    };
  });
  return {
    crop,
    criteria,
    ranking,
    living: chosen.length,
    caprifigs: isCaprifig.filter((is) => is).length,
  };
}

/** Fewer do not let a variance be estimated. */
const LEAST_REPEATED = 3;
const LEAST_FAMILIES = 3;

/**
 * Until then: a plant's fruit are as unlike as plants of a family are, and families half as unlike as that
 * (our judgement).
 */
const UNTIL_ENOUGH = { plantRatio: 1, familyRatio: 0.5 };

function fitCriterion(
  { criterion, plant, value, year, taster }: CriterionColumns,
  weight: number,
  familyOf: readonly number[],
  isCaprifig: readonly boolean[],
): FittedCriterion {
  const pickFrom = (column: readonly number[]) =>
    column.filter((_, index) => !isCaprifig[plant[index] as number]);
  const measured = pickFrom(plant);
  const factors = criterion.hasTasters ? [pickFrom(year), pickFrom(taster)] : [pickFrom(year)];
  const counts = new Uint32Array(familyOf.length);
  for (const own of measured) counts[own] = (counts[own] as number) + 1;
  const plants = counts.filter((count) => count > 0).length;
  const familyCount = new Set(measured.map((own) => familyOf[own])).size;
  const limits: VarianceLimits = {
    ...(measured.length - plants < LEAST_REPEATED ? { plantRatio: UNTIL_ENOUGH.plantRatio } : {}),
    ...(familyCount >= LEAST_FAMILIES
      ? {}
      : { familyRatio: familyCount === 1 ? 0 : UNTIL_ENOUGH.familyRatio }),
  };
  return {
    criterion,
    weight,
    measurements: measured.length,
    plants,
    countOf: (own) => counts[own] as number,
    model:
      measured.length === 0
        ? null
        : fitMixedModel({ plant: measured, value: pickFrom(value), factors }, familyOf, limits),
  };
}

function estimate(model: MixedModel, family: number, plant: number, measurements: number): Estimate {
  const [ofFamily, ofPlant] = [model.families[family], model.plants[plant]];
  const pulled = model.variances.plant === 0 ? 1 : (ofPlant?.variance ?? 0) / model.variances.plant;
  return {
    value: model.mean + deviation(model, family, plant),
    standardError: Math.sqrt((ofPlant?.variance ?? 0) + pulled ** 2 * (ofFamily?.variance ?? 0)),
    measurements,
  };
}
