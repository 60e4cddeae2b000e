/**
 * Gardens of known truth whose plants were seen some times a year, with slips of every common kind, and in
 * which some plants wore each other's tags from some day on.
 *
 * It knows nothing of the model of doubts: it draws whole plants and writes down what is seen of them.
 */
import { idOfNumber } from '../../src/ids/allocation.js';
import type { IdLength, PlantId } from '../../src/ids/plant-id.js';
import type { History, KnownObservation, ObservedValues, Plant } from '../../src/ledger/model.js';
import { type Random, seededRandom } from '../support/random.js';

/** Shares of what is noted. */
export interface Slips {
  readonly leafMisjudged: number;
  readonly colourMisjudged: number;
  readonly insideMisjudged: number;
  readonly heightMistyped: number;
  /** All that is noted at once is of the plant beside. */
  readonly wrongPlant: number;
  /** Of all plants: the leaf changes for good in some year. */
  readonly leafChanges: number;
}

export const REALISTIC: Slips = {
  leafMisjudged: 0.03,
  colourMisjudged: 0.035,
  insideMisjudged: 0.01,
  heightMistyped: 0.01,
  wrongPlant: 0.005,
  leafChanges: 0.01,
};

export interface Exchanged {
  readonly a: PlantId;
  readonly b: PlantId;
  /** The first day on which each wears the other's tag. */
  readonly date: string;
}

export interface SeenGarden {
  readonly histories: readonly History[];
  readonly exchanged: readonly Exchanged[];
}

interface SimulatedPlant {
  readonly leaf: string;
  readonly adultLeaf: { readonly leaf: string; readonly year: number } | null;
  readonly isFemale: boolean;
  readonly isPersistent: boolean;
  readonly colour: string;
  readonly firstHeightCm: number;
  readonly growthCm: number;
  readonly brix: number;
  readonly bearsFrom: number;
}

const LEAVES = ['unlobed', 'three-lobed', 'three-lobed', 'five-lobed', 'five-lobed', 'five-lobed', 'narrow'];
const COLOURS = ['amber', 'amber', 'rose', 'rose', 'rose', 'red', 'violet'];
const YEARS = [2024, 2025, 2026];
const FIRST_DAY = Date.UTC(2024, 3, 1);
const LAST_DAY = Date.UTC(2026, 9, 1);
const MS_A_DAY = 86_400_000;
/** So many plants stand in a row. */
const PLACES_A_ROW = 10;
const ROWS_A_BENCH = 5;

/** @param exchangedShare of all plants */
export function simulateSeen(
  plantCount: number,
  exchangedShare: number,
  slips: Slips,
  seed: number,
  idLength: IdLength = 5,
): SeenGarden {
  const random = seededRandom(seed);
  const plants = Array.from({ length: plantCount }, () => makePlant(slips, random));
  const rows = plants.map((_, index) => plantRow(index, idLength));
  const partnerOf = new Map<number, { readonly other: number; readonly dayMs: number }>();
  const exchanged: Exchanged[] = [];
  for (let index = 0; index < plantCount; index++) {
    if (random.next() >= exchangedShare / 2) continue;
    const other = partner(index, plantCount, random);
    if (other === index || partnerOf.has(index) || partnerOf.has(other)) continue;
    const dayMs = FIRST_DAY + MS_A_DAY * random.below((LAST_DAY - FIRST_DAY) / MS_A_DAY);
    partnerOf.set(index, { other, dayMs });
    partnerOf.set(other, { other: index, dayMs });
    exchanged.push({
      a: (rows[index] as Plant).id,
      b: (rows[other] as Plant).id,
      date: new Date(dayMs).toISOString().slice(0, 10),
    });
  }
  const histories = rows.map((plant, index): History => {
    const observations: KnownObservation[] = [];
    for (const date of datesOf(plants[index] as SimulatedPlant, random)) {
      const swap = partnerOf.get(index);
      const worn = swap !== undefined && Date.parse(date) >= swap.dayMs ? swap.other : index;
      const isWrong = random.next() < slips.wrongPlant;
      const beside = worn + (worn % PLACES_A_ROW === 0 ? 1 : -1);
      const seen = plants[isWrong ? beside : worn] ?? (plants[worn] as SimulatedPlant);
      const values = isSpring(date) ? inSpring(seen, date, slips, random) : inAutumn(seen, slips, random);
      observations.push(observation(plant, date, values));
    }
    return { plant, observations };
  });
  return { histories, exchanged };
}

function makePlant(slips: Slips, random: Random): SimulatedPlant {
  const any = (values: readonly string[]) => values[random.below(values.length)] as string;
  return {
    leaf: any(LEAVES),
    adultLeaf: random.next() < slips.leafChanges ? { leaf: any(LEAVES), year: 2025 + random.below(2) } : null,
    isFemale: random.next() < 0.5,
    isPersistent: random.next() < 0.5,
    colour: any(COLOURS),
    firstHeightCm: Math.max(8, 30 + 10 * random.normal()),
    growthCm: Math.max(3, 38 + 15 * random.normal()),
    brix: 17 + 2 * random.normal(),
    bearsFrom: 2024 + random.below(3),
  };
}

function plantRow(index: number, idLength: IdLength): Plant {
  const row = Math.floor(index / PLACES_A_ROW);
  const bench = Math.floor(row / ROWS_A_BENCH) + 1;
  return {
    id: idOfNumber(index + 1, idLength),
    number: index + 1,
    key: `N${index + 1}`,
    kind: 'seedling',
    seedParent: 'Amber Tollhouse',
    pollenParent: 'Moth Captain',
    sown: '2023-02-11',
    origin: null,
    station: `bench ${bench} / row ${(row % ROWS_A_BENCH) + 1} / ${(index % PLACES_A_ROW) + 1}`,
    type: null,
    note: null,
    extra: {},
    ended: null,
  };
}

/** One of the four nearest, or, one time in five, any plant. */
function partner(index: number, count: number, random: Random): number {
  if (random.next() < 0.2) return random.below(count);
  const steps = [-2, -1, -1, 1, 1, 2];
  const other = index + (steps[random.below(steps.length)] as number);
  return other < 0 || other >= count ? index : other;
}

function datesOf({ bearsFrom }: SimulatedPlant, random: Random): string[] {
  return YEARS.flatMap((year) => [
    ...(random.next() < 0.8 ? [`${year}-04-20`] : []),
    ...(year >= bearsFrom && random.next() < 0.8 ? [`${year}-09-${10 + random.below(18)}`] : []),
  ]);
}

function isSpring(date: string): boolean {
  return date.slice(5, 7) === '04';
}

function inSpring(plant: SimulatedPlant, date: string, slips: Slips, random: Random): ObservedValues {
  const year = Number(date.slice(0, 4));
  const isAdult = plant.adultLeaf !== null && year >= plant.adultLeaf.year;
  const leaf = isAdult ? (plant.adultLeaf?.leaf as string) : plant.leaf;
  const height = plant.firstHeightCm + (year - 2024) * plant.growthCm * random.between(0.7, 1.3);
  const isMistyped = random.next() < slips.heightMistyped;
  return {
    leaf: misjudged(leaf, LEAVES, slips.leafMisjudged, random),
    height: Math.max(1, Math.round((height + 2 * random.normal()) * (isMistyped ? 10 : 1))),
  };
}

/** No wasps, no pollen: what a seedling does by itself. */
function inAutumn(plant: SimulatedPlant, slips: Slips, random: Random): ObservedValues {
  const isFemale = random.next() < slips.insideMisjudged ? !plant.isFemale : plant.isFemale;
  const fruit = { wood: 'new', pollination: random.next() < 0.5 ? 'none' : 'hand' };
  const isHeld = random.next() < (plant.isPersistent ? 0.75 : fruit.pollination === 'none' ? 0.03 : 0.7);
  if (!isHeld) return { ...fruit, fruit: 'dropped' };
  if (!isFemale) return { ...fruit, fruit: 'ripe', inside: random.next() < 0.75 ? 'stamens' : 'dry' };
  const colour = misjudged(plant.colour, COLOURS, slips.colourMisjudged, random);
  const brix = Math.round(10 * (plant.brix + 1.5 * random.normal())) / 10;
  return { ...fruit, fruit: 'ripe', inside: 'pulp', 'pulp colour': colour, brix };
}

function misjudged(value: string, among: readonly string[], share: number, random: Random): string {
  return random.next() < share ? (among[random.below(among.length)] as string) : value;
}

function observation({ id, number }: Plant, date: string, values: ObservedValues): KnownObservation {
  const sure = { byTag: true, doubtful: false };
  const recorded = { by: 'bench', recordedAt: `${date}T12:00:00.000Z`, recordedAs: id, ...sure };
  return { number, entry: `${id} ${date}`, date, values, issue: 1, photo: null, ...recorded };
}
