/**
 * What was measured, gathered by genotype: a seedling with the cuttings and grafts of it. A ledger may hold
 * millions of measurements, so they lie in columns of numbers, and plants are known by their ID alone.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { History, Plant } from '../ledger/model.js';
import { type Crop, cropOf } from '../observe/crops.js';
import { type Criterion, criteriaOf } from './criteria.js';

export interface Said {
  readonly value: string;
  readonly date: string;
}

/** One crop's genotypes; each has a number, counting from 0. */
export interface GatheredCrop {
  readonly crop: Crop;
  readonly ids: readonly PlantId[];
  /** Families are numbered by their parents. */
  readonly familyOf: readonly number[];
  /** The seedling or a cutting of it lives. */
  readonly isAlive: readonly boolean[];
  /** In the order of the crop's criteria. */
  readonly criteria: readonly CriterionColumns[];
}

export interface CriterionColumns {
  readonly criterion: Criterion;
  readonly plant: number[];
  readonly value: number[];
  readonly year: number[];
  readonly taster: number[];
}

/** What the grower said of a genotype that was not only measured. */
export interface Spoken {
  keep: Said | null;
  name: Said | null;
  readonly cuttings: PlantId[];
}

export interface Gathered {
  readonly crops: readonly GatheredCrop[];
  /** Of the genotypes with a verdict, a name or cuttings, by the seedling's ID. */
  readonly spoken: ReadonlyMap<PlantId, Spoken>;
}

class CropColumns {
  readonly ids: PlantId[] = [];
  readonly familyOf: number[] = [];
  readonly isAlive: boolean[] = [];
  readonly criteria: CriterionColumns[];
  readonly #numbers = new Map<PlantId, number>();
  readonly #families = new Map<string, number>();

  constructor(readonly crop: Crop) {
    this.criteria = criteriaOf(crop).map((criterion) => ({
      criterion,
      plant: [],
      value: [],
      year: [],
      taster: [],
    }));
  }

  find(id: PlantId): number | undefined {
    return this.#numbers.get(id);
  }

  numberOf(id: PlantId, seedParent: string | null, pollenParent: string | null): number {
    const known = this.#numbers.get(id);
    if (known !== undefined) return known;
    const number = this.ids.push(id) - 1;
    this.#numbers.set(id, number);
    this.familyOf.push(numberIn(this.#families, JSON.stringify([seedParent, pollenParent])));
    this.isAlive.push(false);
    return number;
  }
}

/** Takes histories one by one; `settle` puts cuttings to the seedlings they were taken from. */
export class Gathering {
  readonly #crops = new Map<string, CropColumns>();
  readonly #spoken = new Map<PlantId, Spoken>();
  readonly #cuttings: History[] = [];
  readonly #years = new Map<string, number>();
  readonly #tasters = new Map<string, number>();

  take(history: History): void {
    const { plant } = history;
    // Few plants are cuttings: they wait until all seedlings are known.
    if (plant.origin !== null) this.#cuttings.push(history);
    else if (plant.kind === 'seedling') this.#add(plant, history);
  }

  async settle(ledger: LedgerReader): Promise<Gathered> {
    const cuttings = new Map(this.#cuttings.map((history) => [history.plant.id, history]));
    const rootIdOf = ({ plant }: History) => {
      let root = plant.origin;
      for (let next = root; next !== null; next = cuttings.get(next)?.plant.origin ?? null) root = next;
      return root;
    };
    const roots = this.#cuttings.flatMap((cutting) => rootIdOf(cutting) ?? []);
    const plants = new Map((await ledger.plantsByIds([...new Set(roots)])).map((plant) => [plant.id, plant]));
    for (const cutting of this.#cuttings) {
      const root = plants.get(rootIdOf(cutting) ?? cutting.plant.id);
      if (root?.kind !== 'seedling') continue;
      this.#spokenOf(root.id).cuttings.push(cutting.plant.id);
      this.#add(root, cutting);
    }
    return { crops: [...this.#crops.values()], spoken: this.#spoken };
  }

  /** @param root the seedling, whose number the measurements get */
  #add(root: Plant, history: History): void {
    const [keep, name] = [lastSaid(history, 'keep'), lastSaid(history, 'name')];
    if (keep !== null || name !== null) {
      const spoken = this.#spokenOf(root.id);
      spoken.keep = later(spoken.keep, keep);
      spoken.name = later(spoken.name, name);
    }
    const crop = cropOf(root);
    const columns = this.#crops.get(crop.name) ?? new CropColumns(crop);
    this.#crops.set(crop.name, columns);
    for (const { criterion, plant, value, year, taster } of columns.criteria) {
      for (const found of criterion.valuesOf(history)) {
        plant.push(columns.numberOf(root.id, root.seedParent, root.pollenParent));
        value.push(found.value);
        year.push(numberIn(this.#years, found.date.slice(0, 4)));
        taster.push(numberIn(this.#tasters, found.by));
      }
    }
    const number = columns.find(root.id);
    const lives = root.ended === null || history.plant.ended === null;
    if (number !== undefined && lives) columns.isAlive[number] = true;
  }

  #spokenOf(id: PlantId): Spoken {
    const spoken = this.#spoken.get(id) ?? { keep: null, name: null, cuttings: [] };
    this.#spoken.set(id, spoken);
    return spoken;
  }
}

function later(a: Said | null, b: Said | null): Said | null {
  if (a === null || b === null) return a ?? b;
  return b.date > a.date ? b : a;
}

function lastSaid({ observations }: History, trait: string): Said | null {
  const last = observations.findLast(({ values }) => values[trait] !== undefined);
  return last === undefined ? null : { value: String(last.values[trait]), date: last.date };
}

/** A text's number, counting from 0 in the order of first appearance. */
function numberIn(numbers: Map<string, number>, text: string): number {
  const number = numbers.get(text) ?? numbers.size;
  numbers.set(text, number);
  return number;
}
