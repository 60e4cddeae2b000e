/**
 * Which seedlings are worth keeping: every fruit, year and taster taken together, plants of little evidence
 * drawn toward their family. What was seen on cuttings and grafts counts for the seedling they were taken
 * from: it is one genotype.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { History, Plant } from '../ledger/model.js';
import { type Crop, cropOf } from '../observe/crops.js';
import type { PerType } from '../observe/type-likelihoods.js';
import { type Criterion, criteriaOf, type Valued } from './criteria.js';
import { typesOfCrosses } from './cross-types.js';
import { CALLED_FROM } from './judged-type.js';
import { fitMixedModel, type Measurement, type MixedModel, type VarianceLimits } from './mixed-model.js';
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
  /** Figs that are called caprifigs: nobody eats their fruit, so they are not ranked. */
  readonly caprifigs: number;
}

export interface FittedCriterion {
  readonly criterion: Criterion;
  readonly weight: number;
  readonly measurements: number;
  readonly plants: number;
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

/** Reads the whole ledger once. */
export async function rankKeepers(ledger: LedgerReader, today: string, weights: Weights): Promise<Keepers> {
  const genotypes = new Genotypes();
  const tallies = await surveyCrosses(ledger, today, (history) => genotypes.take(history));
  const types = await typesOfCrosses(ledger, tallies);
  const posteriors = new Map([...types.values()].flatMap((type) => [...type.posteriors]));
  const roots = await genotypes.settle(ledger);
  const crops = [...new Set(roots.map(({ plant }) => cropOf(plant)))];
  return {
    crops: crops.map((crop) =>
      rankCrop(
        crop,
        roots.filter(({ plant }) => cropOf(plant) === crop),
        posteriors,
        weights,
      ),
    ),
    named: roots
      .filter(({ keep }) => keep?.value === 'yes')
      .map(({ plant, name, keep, cuttings }) => ({
        plant,
        name: name?.value ?? null,
        since: keep?.date ?? '',
        cuttings: cuttings.filter(({ ended }) => ended === null),
      })),
  };
}

interface Said {
  readonly value: string;
  readonly date: string;
}

/** One genotype: a seedling with all that was measured on it and its cuttings. */
interface Genotype {
  readonly plant: Plant;
  readonly cuttings: Plant[];
  /** In the order of the crop's criteria. */
  readonly values: Valued[][];
  keep: Said | null;
  name: Said | null;
}

/** Gathers what was measured, then puts cuttings to the plants they were taken from. */
class Genotypes {
  readonly #all = new Map<PlantId, Genotype>();

  take(history: History): void {
    const { plant } = history;
    const values = criteriaOf(cropOf(plant)).map(({ valuesOf }) => [...valuesOf(history)]);
    const [keep, name] = [lastSaid(history, 'keep'), lastSaid(history, 'name')];
    const isTelling = values.some((own) => own.length > 0) || keep !== null || name !== null;
    if (plant.kind === 'parent' || (!isTelling && plant.origin === null)) return;
    this.#all.set(plant.id, { plant, cuttings: [], values, keep, name });
  }

  async settle(ledger: LedgerReader): Promise<Genotype[]> {
    const origins = [...this.#all.values()].flatMap(({ plant }) => plant.origin ?? []);
    const unknown = origins.filter((origin) => !this.#all.has(origin));
    // Seedlings that nothing was measured on, but on their cuttings.
    for (const plant of await ledger.plantsByIds(unknown)) {
      if (plant.kind !== 'seedling') continue;
      const values = criteriaOf(cropOf(plant)).map(() => []);
      this.#all.set(plant.id, { plant, cuttings: [], values, keep: null, name: null });
    }
    const roots: Genotype[] = [];
    for (const genotype of this.#all.values()) {
      const root = this.#rootOf(genotype);
      if (root === genotype) roots.push(genotype);
      else if (root !== undefined) addTo(root, genotype);
    }
    return roots;
  }

  /** Undefined where the origin is a parent tree. */
  #rootOf(genotype: Genotype): Genotype | undefined {
    let root: Genotype | undefined = genotype;
    while (root !== undefined && root.plant.origin !== null) root = this.#all.get(root.plant.origin);
    return root;
  }
}

function addTo(root: Genotype, cutting: Genotype): void {
  root.cuttings.push(cutting.plant);
  cutting.values.forEach((values, index) => {
    root.values[index]?.push(...values);
  });
  root.keep = later(root.keep, cutting.keep);
  root.name = later(root.name, cutting.name);
}

function later(a: Said | null, b: Said | null): Said | null {
  if (a === null || b === null) return a ?? b;
  return b.date > a.date ? b : a;
}

function lastSaid({ observations }: History, trait: string): Said | null {
  const last = observations.findLast(({ values }) => values[trait] !== undefined);
  return last === undefined ? null : { value: String(last.values[trait]), date: last.date };
}

function rankCrop(
  crop: Crop,
  genotypes: readonly Genotype[],
  posteriors: ReadonlyMap<PlantId, PerType>,
  weights: Weights,
): CropKeepers {
  const isCaprifig = ({ plant }: Genotype) => {
    const [, , persistent, caducous] = posteriors.get(plant.id) ?? [0, 0, 0, 0];
    return persistent + caducous >= CALLED_FROM;
  };
  const isAlive = ({ plant, cuttings }: Genotype) =>
    plant.ended === null || cuttings.some(({ ended }) => ended === null);
  // The dead tell of their families too; only the living are ranked.
  const fruited = genotypes.filter(
    (genotype) => genotype.values.some((values) => values.length > 0) && !isCaprifig(genotype),
  );
  const families = numbered(
    fruited.map(({ plant }) => JSON.stringify([plant.seedParent, plant.pollenParent])),
  );
  const criteria = criteriaOf(crop).map((criterion, index) =>
    fitCriterion(
      criterion,
      weights[criterion.name] ?? criterion.defaultWeight,
      fruited.map(({ values }) => values[index] ?? []),
      families,
    ),
  );
  const weighed = criteria.flatMap(({ model, weight }) => (model === null ? [] : [{ model, weight }]));
  const living = fruited.flatMap((genotype, index) => (isAlive(genotype) ? [index] : []));
  const ranking = rankPlants(weighed, families, living).map(({ plant: place, outdoneBy, ...ranked }) => {
    const { plant, keep, name, values } = fruited[place] as Genotype;
    return {
      ...ranked,
      plant,
      outdoneBy: outdoneBy === null ? null : (fruited[outdoneBy] as Genotype).plant.id,
      keep: (keep?.value as 'yes' | 'no' | undefined) ?? null,
      name: name?.value ?? null,
      persistentFemale: crop.hasFigTypes ? (posteriors.get(plant.id)?.[0] ?? null) : null,
      estimates: criteria.map(({ model }, index) =>
        model === null ? null : estimate(model, families[place] as number, place, values[index]?.length ?? 0),
      ),
    };
  });
  return { crop, criteria, ranking, caprifigs: genotypes.filter(isCaprifig).length };
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
  criterion: Criterion,
  weight: number,
  values: readonly (readonly Valued[])[],
  families: readonly number[],
): FittedCriterion {
  const columns = new Map<string, number>();
  const columnOf = (level: string) => {
    const column = columns.get(level) ?? columns.size + 1;
    columns.set(level, column);
    return column;
  };
  const measurements: Measurement[] = values.flatMap((own, plant) =>
    own.map(({ value, date, by }) => ({
      plant,
      value,
      fixed: [
        columnOf(`year ${date.slice(0, 4)}`),
        ...(criterion.hasTasters ? [columnOf(`taster ${by}`)] : []),
      ],
    })),
  );
  const measured = values.flatMap((own, plant) => (own.length > 0 ? [plant] : []));
  const familyCount = new Set(measured.map((plant) => families[plant])).size;
  const limits: VarianceLimits = {
    ...(measurements.length - measured.length < LEAST_REPEATED
      ? { plantRatio: UNTIL_ENOUGH.plantRatio }
      : {}),
    ...(familyCount === 1
      ? { familyRatio: 0 }
      : familyCount < LEAST_FAMILIES
        ? { familyRatio: UNTIL_ENOUGH.familyRatio }
        : {}),
  };
  const model = measurements.length === 0 ? null : fitMixedModel(measurements, families, limits);
  return { criterion, weight, measurements: measurements.length, plants: measured.length, model };
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

/** Each text's number, counting from 0 in the order of first appearance. */
function numbered(texts: readonly string[]): number[] {
  const numbers = new Map<string, number>();
  return texts.map((text) => {
    const number = numbers.get(text) ?? numbers.size;
    numbers.set(text, number);
    return number;
  });
}
