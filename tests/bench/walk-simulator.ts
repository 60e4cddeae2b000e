/**
 * Gardens of known truth, and walks through them after tags were lost, pots moved and tags exchanged.
 *
 * It knows nothing of the walk's own model: pots are set down at the nearest places or anywhere, where in
 * some gardens the nearest are those on the bench, in others the next along the walk; growth differs from
 * garden to garden, and events fall on pots independently of each other.
 */
import { idOfNumber } from '../../src/ids/allocation.js';
import type { IdLength, PlantId } from '../../src/ids/plant-id.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import type { FindingKind } from '../../src/walk/findings.js';
import { type Random, seededRandom } from '../support/random.js';

export const SOWN = '2023-02-11';
const MEASURED = '2026-04-20';
export const WALKED = '2026-10-17';
const YEARS_BETWEEN = 180 / 365.25;

/** Shares of all pots. */
export interface Rates {
  readonly lost: number;
  readonly spoilt: number;
  /** Pots in pairs that change places, half of the time with their tags, else the tags alone. */
  readonly exchanged: number;
  readonly moved: number;
  /** Pots that move and lose their tag. */
  readonly movedUntagged: number;
  /** Dead and thrown out. */
  readonly gone: number;
  readonly strangers: number;
}

/** The case of the design's bar. */
export const LOSS_AND_EXCHANGE: Rates = {
  lost: 0.01,
  spoilt: 0,
  exchanged: 0.01,
  moved: 0,
  movedUntagged: 0,
  gone: 0,
  strangers: 0,
};

export const STORM: Rates = {
  lost: 0.03,
  spoilt: 0.02,
  exchanged: 0.03,
  moved: 0.02,
  movedUntagged: 0.02,
  gone: 0.01,
  strangers: 0.001,
};

export interface Garden {
  readonly plants: readonly SimulatedPlant[];
  /** The walk, in order. */
  readonly csv: string;
  /** What stands at each station; null for a stranger. Stations without a pot are not in it. */
  readonly truth: ReadonlyMap<string, PlantId | null>;
  /** The kind of finding at each station that at most one event befell. */
  readonly kinds: ReadonlyMap<string, FindingKind>;
}

export interface SimulatedPlant {
  readonly id: PlantId;
  readonly number: number;
  readonly station: string;
  readonly heightCm: number;
  readonly leaf: string;
}

interface Pot {
  readonly plant: SimulatedPlant | null;
  tag: string;
}

const LEAVES = [
  'unlobed',
  'three-lobed',
  'three-lobed',
  'five-lobed',
  'five-lobed',
  'five-lobed',
  'seven-lobed',
];
const PLACES_A_ROW = 10;
const ROWS_A_BENCH = 5;
const PLACES_A_BENCH = PLACES_A_ROW * ROWS_A_BENCH;
/** One station in so many is free. */
const FREE = 10;

export function simulate(stationCount: number, rates: Rates, seed: number, idLength: IdLength): Garden {
  const random = seededRandom(seed);
  const stations = Array.from({ length: stationCount }, (_, index) => stationName(index));
  const plants: SimulatedPlant[] = [];
  const pots: (Pot | undefined)[] = stations.map((station, index) => {
    if (index % FREE === FREE - 1) return undefined;
    const plant = makePlant(plants.length + 1, station, random, idLength);
    plants.push(plant);
    return { plant, tag: `${plant.id}.1` };
  });
  const events = new Events(pots, random);
  events.each(rates.exchanged / 2, (index) => events.exchange(index));
  events.each(rates.moved, (index) => events.move(index, false));
  events.each(rates.movedUntagged, (index) => events.move(index, true));
  events.each(rates.gone, (index) => events.remove(index));
  events.each(rates.lost, (index) => events.spoil(index, 'none', 'tag-missing'));
  events.each(rates.spoilt, (index) => events.spoil(index, smeared(pots[index]?.tag, random), 'unreadable'));
  events.each(rates.strangers, (index) => events.strange(index));
  const growth = { mean: random.between(30, 50), sd: random.between(15, 30) };
  const lines = stations.map((station, index) => walkLine(station, pots[index], stations, growth, random));
  return {
    plants,
    csv: ['station,scanned,height_cm,leaf', ...lines].join('\n'),
    truth: new Map(
      stations.flatMap((station, index) => {
        const pot = pots[index];
        return pot === undefined ? [] : [[station, pot.plant?.id ?? null] as const];
      }),
    ),
    kinds: new Map(
      stations.flatMap((station, index) => {
        const kind = events.kindAt(index);
        return kind === null ? [] : [[station, kind] as const];
      }),
    ),
  };
}

function stationName(index: number): string {
  const row = Math.floor(index / PLACES_A_ROW);
  const bench = Math.floor(row / ROWS_A_BENCH) + 1;
  return `bench ${bench} / row ${(row % ROWS_A_BENCH) + 1} / ${(index % PLACES_A_ROW) + 1}`;
}

function makePlant(number: number, station: string, random: Random, idLength: IdLength): SimulatedPlant {
  return {
    id: idOfNumber(number, idLength),
    number,
    station,
    heightCm: Math.max(12, Math.round(70 + 22 * random.normal())),
    leaf: LEAVES[random.below(LEAVES.length)] as string,
  };
}

/** What befalls the pots; each station remembers the kind of finding it should give. */
class Events {
  readonly #kinds = new Map<number, FindingKind | null>();
  readonly #steps: (from: number, to: number) => number;

  constructor(
    readonly pots: (Pot | undefined)[],
    readonly random: Random,
  ) {
    this.#steps = random.next() < 0.5 ? stepsOnBench : (from, to) => Math.abs(from - to);
  }

  each(share: number, happen: (index: number) => void): void {
    for (let index = 0; index < this.pots.length; index++) {
      if (this.pots[index] !== undefined && this.random.next() < share) happen(index);
    }
  }

  kindAt(index: number): FindingKind | null {
    const kind = this.#kinds.get(index);
    return kind === undefined ? 'in-place' : kind;
  }

  exchange(index: number): void {
    const other = this.#near(index, (pot) => pot !== undefined);
    const [a, b] = [this.pots[index], this.pots[other]];
    if (a === undefined || b === undefined || a === b) return;
    if (this.random.next() < 0.5) [this.pots[index], this.pots[other]] = [b, a];
    else [a.tag, b.tag] = [b.tag, a.tag];
    this.#befall(index, 'exchanged');
    this.#befall(other, 'exchanged');
  }

  move(index: number, isUntagged: boolean): void {
    const to = this.#near(index, (pot) => pot === undefined);
    const pot = this.pots[index];
    if (to === index || pot === undefined) return;
    [this.pots[to], this.pots[index]] = [pot, undefined];
    if (isUntagged) pot.tag = 'none';
    this.#befall(index, isUntagged ? 'pot-missing' : 'moved');
    this.#befall(to, isUntagged ? 'tag-missing' : 'moved');
  }

  remove(index: number): void {
    this.pots[index] = undefined;
    this.#befall(index, 'pot-missing');
  }

  spoil(index: number, tag: string, kind: FindingKind): void {
    const pot = this.pots[index];
    if (pot === undefined) return;
    pot.tag = tag;
    this.#befall(index, kind);
  }

  /** A stranger's pot, on a free station nearby. */
  strange(index: number): void {
    const to = this.#near(index, (pot) => pot === undefined);
    if (to === index) return;
    this.pots[to] = { plant: null, tag: 'none' };
    this.#befall(to, 'tag-missing');
  }

  #befall(index: number, kind: FindingKind): void {
    this.#kinds.set(index, this.#kinds.has(index) ? null : kind);
  }

  /** One of the two nearest stations that will do; one time in five any other. */
  #near(index: number, isFit: (pot: Pot | undefined) => boolean): number {
    const count = this.pots.length;
    const fits = (other: number) => other >= 0 && other < count && other !== index && isFit(this.pots[other]);
    if (this.random.next() < 0.8) {
      const close: number[] = [];
      for (let reach = 1; reach < count && close.length < 2; reach *= 2) {
        close.length = 0;
        for (let other = index - PLACES_A_BENCH * reach; other <= index + PLACES_A_BENCH * reach; other++) {
          if (fits(other) && this.#steps(index, other) <= PLACES_A_ROW * reach) close.push(other);
        }
      }
      close.sort((a, b) => this.#steps(index, a) - this.#steps(index, b));
      return close[this.random.below(Math.min(2, close.length))] ?? index;
    }
    for (let tries = 0; tries < 1000; tries++) {
      const other = this.random.below(count);
      if (fits(other)) return other;
    }
    return index;
  }
}

/** Along the row and across the rows of one bench; another bench is far away. */
function stepsOnBench(from: number, to: number): number {
  const [a, b] = [from, to].map((index) => ({
    bench: Math.floor(index / PLACES_A_BENCH),
    row: Math.floor(index / PLACES_A_ROW),
    place: index % PLACES_A_ROW,
  })) as [{ bench: number; row: number; place: number }, { bench: number; row: number; place: number }];
  return Math.abs(a.place - b.place) + Math.abs(a.row - b.row) + PLACES_A_BENCH * Math.abs(a.bench - b.bench);
}

/** One to three characters of the ID illegible. */
function smeared(tag: string | undefined, random: Random): string {
  const id = [...(tag ?? '').replace(/\..*/, '')];
  if (id.length < 5) return 'none';
  const count = 1 + random.below(3);
  for (let smear = 0; smear < count; smear++) id[random.below(id.length)] = '?';
  return id.join('');
}

/** Traits are noted where something looks wrong: a pot without a sound tag, or away from its station. */
function walkLine(
  station: string,
  pot: Pot | undefined,
  stations: readonly string[],
  growth: { readonly mean: number; readonly sd: number },
  random: Random,
): string {
  if (pot === undefined) return `${station},empty,,`;
  const isInOrder = pot.plant !== null && pot.tag === `${pot.plant.id}.1` && pot.plant.station === station;
  if (isInOrder) return `${station},${pot.tag},,`;
  const seen = pot.plant ?? makePlant(1, stations[0] as string, random, 5);
  const grown = Math.max(0, growth.mean + growth.sd * random.normal()) * YEARS_BETWEEN;
  const isWrong = () => random.next() < 0.03;
  const heightCm = isWrong() ? random.between(20, 150) : seen.heightCm + grown + 2 * random.normal();
  const leaf = isWrong() ? LEAVES[random.below(LEAVES.length)] : seen.leaf;
  return `${station},${pot.tag},${Math.max(1, heightCm).toFixed(0)},${leaf}`;
}

/** The garden's ledger: plants enrolled, tags printed, heights and leaves seen in spring. */
export async function makeLedger(folder: string, plants: readonly SimulatedPlant[], idLength: IdLength) {
  const ledger = await createLedger(folder, idLength, 'bench', () => new Date('2026-10-17T12:00:00.000Z'));
  await ledger.write('bench', async (writer) => {
    for (const { id, number, station } of plants) {
      const fields = { kind: 'seedling', origin: null, type: null, note: null, extra: {} } as const;
      const parents = { seedParent: null, pollenParent: null, sown: SOWN };
      const body = { id, number, key: `N${number}`, station, ...parents, ...fields };
      await writer.append({ kind: 'plant-enrolled', body });
    }
    for (const { id } of plants) {
      const place = { stock: 'a4', sheet: 'sheet.pdf', page: 1, row: 1, column: 1 };
      await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } });
    }
    for (const { id, heightCm, leaf } of plants) {
      const values = { height: heightCm, leaf };
      await writer.append({ kind: 'observed', body: { id, issue: 1, date: MEASURED, values, photo: null } });
    }
  });
  return ledger;
}
