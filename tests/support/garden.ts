/**
 * An invented garden of figs, simulated over six years and written through the ledger's own interface: six
 * crosses, sown from 2021 to 2024, looked at up to the autumn of 2026. The same seed gives the same garden.
 */
import { idOfNumber } from '../../src/ids/allocation.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues, PlantFields } from '../../src/ledger/model.js';
import { enrolInto, seedling } from './ledger.js';
import { type Random, seededRandom } from './random.js';

interface Family {
  readonly seedParent: string;
  readonly pollenParent: string | null;
  readonly passesPersistence: boolean;
  readonly sownYear: number;
  readonly seedlings: number;
  /** Years from sowing at which half would bear. */
  readonly bearsAtYears: number;
  readonly liking: number;
  readonly brix: number;
  /** Of the year. */
  readonly ripeDay: number;
}

const FAMILIES: readonly Family[] = [
  family('Quillon Dusk', 'Stannick', true, 2021, 72, 3.1, 6.3, 19.5, 247),
  family('Tessaly Amber', 'Stannick', true, 2021, 56, 3.8, 5.9, 18, 268),
  family('Mottle Hen', 'Stannick', true, 2021, 48, 3.4, 5.2, 17, 255),
  family('Brackwater Green', 'Old Harl', false, 2022, 52, 2.9, 5.8, 18.5, 236),
  family('Quillon Dusk', null, true, 2022, 44, 3.3, 5.5, 18, 250),
  family('Tessaly Amber', 'Little Fennick', true, 2024, 28, 2.6, 6.5, 19, 251),
];

const PARENTS: readonly (readonly [key: string, type: string])[] = [
  ['Quillon Dusk', 'persistent female'],
  ['Tessaly Amber', 'persistent female'],
  ['Brackwater Green', 'persistent female'],
  ['Mottle Hen', 'caducous female'],
  ['Stannick', 'persistent caprifig'],
  ['Old Harl', 'caducous caprifig'],
];

const LAST_YEAR = 2026;
const PLACES_A_ROW = 10;
const ROWS_A_BENCH = 5;
/** How much later than usual fruit ripened, in days; a late year has few ripe fruit before the frost. */
const LATE_DAYS: Readonly<Record<number, number>> = { 2023: -6, 2024: 9, 2025: -2, 2026: 3 };
const FROST_DAY = 309;
const TASTERS = ['Zoé', 'Isolde'] as const;
const NAMES = ['Hollow Lantern', 'Ferrow Late', 'Amberwick', 'Small Hours'];

interface Seedling {
  readonly id: PlantId;
  readonly family: Family;
  readonly isFemale: boolean;
  readonly isPersistent: boolean;
  readonly bearsFrom: number;
  readonly endsIn: number | null;
  readonly liking: number;
  readonly brix: number;
  readonly weightG: number;
  readonly ripeDay: number;
  likings: number[];
}

interface Seen {
  readonly id: PlantId;
  readonly date: string;
  readonly values: ObservedValues;
  readonly by: string;
}

/** @returns the IDs of the seedlings, in the order of enrolment */
export async function growGarden(ledger: Ledger, seed = 20261125): Promise<PlantId[]> {
  const random = seededRandom(seed);
  const parents = PARENTS.map(([key, type], index) =>
    seedling(key, { kind: 'parent', type, station: `wall / ${index + 1}` }),
  );
  const rows = FAMILIES.flatMap((each) => Array.from({ length: each.seedlings }, () => each));
  const enrolled = await ledger.write('Zoé', (writer) =>
    enrolInto(writer, 5, [...parents, ...rows.map(seedlingRow)]),
  );
  const seedlings = rows.map((each, index) =>
    grow(enrolled[parents.length + index] as PlantId, each, random),
  );
  const seen = seedlings
    .flatMap((plant) => lookAt(plant, random))
    .sort((a, b) => a.date.localeCompare(b.date));
  const keepers = seedlings
    .filter(({ endsIn, likings }) => endsIn === null && likings.length >= 3)
    .sort((a, b) => mean(b.likings) - mean(a.likings))
    .slice(0, NAMES.length);
  seen.push(
    ...keepers.map(({ id }, index) => ({
      id,
      date: '2026-10-25',
      values: { keep: 'yes', name: NAMES[index] as string },
      by: 'Zoé',
    })),
  );
  await write(ledger, seen);
  await takeCuttings(ledger, keepers);
  return seedlings.map(({ id }) => id);
}

function family(
  seedParent: string,
  pollenParent: string | null,
  passesPersistence: boolean,
  sownYear: number,
  seedlings: number,
  bearsAtYears: number,
  liking: number,
  brix: number,
  ripeDay: number,
): Family {
  return {
    seedParent,
    pollenParent,
    passesPersistence,
    sownYear,
    seedlings,
    bearsAtYears,
    liking,
    brix,
    ripeDay,
  };
}

function seedlingRow({ seedParent, pollenParent, sownYear }: Family, index: number): PlantFields {
  const row = Math.floor(index / PLACES_A_ROW);
  const bench = Math.floor(row / ROWS_A_BENCH) + 1;
  return seedling(`${sownYear % 100}-${String(index + 1).padStart(3, '0')}`, {
    seedParent,
    pollenParent,
    sown: `${sownYear}-02-1${index % 9}`,
    station: `bench ${bench} / row ${(row % ROWS_A_BENCH) + 1} / ${(index % PLACES_A_ROW) + 1}`,
  });
}

function grow(id: PlantId, of: Family, random: Random): Seedling {
  const isFemale = random.next() < 0.5;
  const bearsFrom = of.sownYear + Math.max(2, Math.round(of.bearsAtYears + 0.9 * random.normal() + 0.4));
  const diesIn = random.next() < 0.13 ? of.sownYear + 1 + random.below(4) : null;
  // Most caprifigs are culled once they have shown what they are.
  const culledIn = !isFemale && random.next() < 0.5 ? bearsFrom + 2 : null;
  const endsIn = diesIn ?? culledIn;
  return {
    id,
    family: of,
    isFemale,
    isPersistent: of.passesPersistence && random.next() < 0.5,
    bearsFrom,
    endsIn: endsIn !== null && endsIn <= LAST_YEAR ? endsIn : null,
    liking: of.liking + 0.9 * random.normal(),
    brix: of.brix + 1.6 * random.normal(),
    weightG: 38 + 9 * random.normal(),
    ripeDay: of.ripeDay + 9 * random.normal(),
    likings: [],
  };
}

function lookAt(plant: Seedling, random: Random): Seen[] {
  const { id, family: of, bearsFrom, endsIn } = plant;
  const seen: Seen[] = [note(id, of.sownYear, 130, { germinated: 'yes' })];
  for (let year = bearsFrom; year <= LAST_YEAR && (endsIn === null || year < endsIn); year++) {
    if (random.next() < 0.1) continue; // It bore nothing, or nobody looked.
    seen.push(...season(plant, year, random));
    if (year > bearsFrom && random.next() < 0.7) seen.push(...pollinated(plant, year, random));
  }
  if (endsIn !== null) seen.push(note(id, endsIn, 80 + random.below(60), { alive: 'no' }));
  return seen;
}

function season(plant: Seedling, year: number, random: Random): Seen[] {
  const { id, bearsFrom, isFemale, isPersistent } = plant;
  const fruit = { wood: 'new', pollination: 'none' };
  const day = Math.round(plant.ripeDay + (LATE_DAYS[year] ?? 0) + 4 * random.normal());
  const seen = [note(id, year, day - 95 - random.below(6), { ...fruit, fruit: 'set' })];
  const holds = random.next() < (isPersistent ? (year === bearsFrom ? 0.6 : 0.85) : 0.03);
  if (!holds || day >= FROST_DAY) {
    const isFrost = day >= FROST_DAY;
    const values = { ...fruit, fruit: 'dropped', ...(isFrost ? { weather: 'frost' } : {}) };
    const days = isFrost ? [FROST_DAY] : [day - 30, day - 22];
    return [...seen, ...days.map((each) => note(id, year, each, values))];
  }
  if (!isFemale) return [...seen, note(id, year, day, { ...fruit, fruit: 'ripe', inside: 'stamens' })];
  const days = [day, day + 3 + random.below(5), day + 9 + random.below(8)].filter((each) => each < FROST_DAY);
  return [...seen, ...days.map((each) => taste(plant, year, each, fruit, random))];
}

/** By hand, on one branch: what the fruit is like inside is seen of those that drop the others, too. */
function pollinated(plant: Seedling, year: number, random: Random): Seen[] {
  const fruit = { wood: 'new', pollination: 'hand' };
  const day = Math.round(plant.ripeDay + (LATE_DAYS[year] ?? 0) + 4 * random.normal());
  if (random.next() < 0.25) return [note(plant.id, year, day - 20, { ...fruit, fruit: 'dropped' })];
  if (day >= FROST_DAY) return [];
  if (plant.isFemale) return [taste(plant, year, day, fruit, random)];
  return [note(plant.id, year, day, { ...fruit, fruit: 'ripe', inside: 'stamens' })];
}

function taste(plant: Seedling, year: number, day: number, fruit: ObservedValues, random: Random): Seen {
  const by = TASTERS[random.below(TASTERS.length)] as string;
  const strict = by === 'Isolde' ? -0.5 : 0.2;
  const liking = Math.min(9, Math.max(1, Math.round(plant.liking + strict + 0.8 * random.normal())));
  plant.likings.push(liking);
  const values = {
    ...fruit,
    fruit: 'ripe',
    inside: 'pulp',
    liking,
    brix: Math.round(10 * (plant.brix + 1.2 * random.normal())) / 10,
    weight: Math.round(Math.max(8, plant.weightG + 6 * random.normal())),
  };
  return { ...note(plant.id, year, day, values), by };
}

function note(id: PlantId, year: number, dayOfYear: number, values: ObservedValues): Seen {
  const date = new Date(Date.UTC(year, 0, dayOfYear)).toISOString().slice(0, 10);
  return { id, date, values, by: 'Zoé' };
}

async function write(ledger: Ledger, seen: readonly Seen[]): Promise<void> {
  for (const by of new Set(seen.map((each) => each.by))) {
    await ledger.write(by, async (writer) => {
      for (const { id, date, values } of seen.filter((each) => each.by === by)) {
        await writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
      }
    });
  }
}

async function takeCuttings(ledger: Ledger, keepers: readonly Seedling[]): Promise<void> {
  const cuttings = keepers.slice(0, 2).flatMap(({ id }, keeper) =>
    [1, 2, 3].map((count) =>
      seedling(`C-${keeper + 1}${count}`, {
        kind: 'cutting',
        origin: id,
        station: `tunnel / ${keeper * 3 + count}`,
      }),
    ),
  );
  await ledger.write('Zoé', async (writer) => {
    for (const fields of cuttings) {
      const number = (await writer.plantCount()) + 1;
      await writer.append({ kind: 'plant-enrolled', body: { number, id: idOfNumber(number, 5), ...fields } });
    }
  });
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
