/**
 * Stations as benches, rows and places: where to draw each pot.
 */
import { placeOf, rowOf } from '../walk/stations.js';
import type { Pot } from './garden.js';

export interface Bench {
  /** What the names of its stations begin with, e.g. `bench 2`; empty for places without numbers. */
  readonly name: string;
  readonly lines: readonly Line[];
}

/** A row of pots, or a part of a long one. */
export interface Line {
  readonly name: string;
  readonly spots: readonly Spot[];
}

/** A station. Pots that ended there before are not counted among others. */
export interface Spot {
  readonly station: string;
  /** Its last number, or nothing for a name without numbers. */
  readonly place: number | null;
  /** The living one, or the one that ended there. */
  readonly pot: Pot;
  /** Further living ones. */
  readonly others: readonly Pot[];
}

/** More pots side by side cannot be read on paper. */
const MOST_SIDE_BY_SIDE = 12;

interface Placed {
  readonly spot: Spot;
  readonly benchKey: string;
  readonly rowKey: string;
  readonly coordinates: readonly number[];
}

/** More rows do not fit on a page of A4 or Letter. */
const MOST_LINES = 20;

/** In the order of their numbers; within a row likewise. What is longer than a page comes in parts. */
export function benchesOf(pots: readonly Pot[]): Bench[] {
  const placed = spotsOf(pots).sort(byPlace);
  return grouped(placed, ({ benchKey }) => benchKey).flatMap((onBench) => {
    const isNumbered = onBench[0]?.benchKey !== '';
    const name = isNumbered ? commonBeginning(onBench.map(({ spot }) => spot.station)) : '';
    const lines = grouped(onBench, ({ rowKey }) => rowKey).flatMap(linesOf);
    return inParts(lines, MOST_LINES).map((part) => ({ name, lines: part }));
  });
}

function spotsOf(pots: readonly Pot[]): Placed[] {
  const stations = new Map<string, Pot[]>();
  for (const pot of pots) {
    const { key } = placeOf(pot.station);
    const known = stations.get(key);
    if (known === undefined) stations.set(key, [pot]);
    else known.push(pot);
  }
  return [...stations.values()].map((here) => {
    const living = here.filter(({ hasEnded }) => !hasEnded);
    const [pot, ...others] = living.length > 0 ? living : here.slice(-1);
    const { station } = pot as Pot;
    const place = placeOf(station);
    const { system, coordinates } = place;
    return {
      spot: { station, place: coordinates.at(-1) ?? null, pot: pot as Pot, others },
      benchKey: coordinates.length === 0 ? '' : `${system} ${coordinates.slice(0, -2).join(' ')}`,
      rowKey: coordinates.length === 0 ? '' : rowOf(place),
      coordinates,
    };
  });
}

function byPlace(a: Placed, b: Placed): number {
  // Places without numbers come last.
  if (a.coordinates.length === 0 || b.coordinates.length === 0) {
    return b.coordinates.length - a.coordinates.length || compare(a.spot.station, b.spot.station);
  }
  if (a.benchKey !== b.benchKey) return collator.compare(a.spot.station, b.spot.station);
  const differs = a.coordinates.findIndex((value, index) => value !== b.coordinates[index]);
  return differs < 0 ? 0 : (a.coordinates[differs] as number) - (b.coordinates[differs] ?? 0);
}

const collator = new Intl.Collator('en', { numeric: true });

function compare(a: string, b: string): number {
  return collator.compare(a, b);
}

function linesOf(row: readonly Placed[]): Line[] {
  const isNumbered = row[0]?.rowKey !== '';
  const names = isNumbered ? commonBeginning(row.map(({ spot }) => spot.station)) : '';
  return inParts(row, MOST_SIDE_BY_SIDE).map((part) => ({
    name: names,
    spots: part.map(({ spot }) => spot),
  }));
}

function inParts<T>(items: readonly T[], most: number): T[][] {
  return Array.from({ length: Math.ceil(items.length / most) }, (_, index) =>
    items.slice(index * most, (index + 1) * most),
  );
}

/** Whole rows, as many as fit. */
export function firstOf(benches: readonly Bench[], mostStations: number): Bench[] {
  let stations = 0;
  return benches.flatMap(({ name, lines }) => {
    const fitting = lines.filter(({ spots }) => {
      stations += spots.length;
      return stations <= mostStations;
    });
    return fitting.length === 0 ? [] : [{ name, lines: fitting }];
  });
}

/** Neighbours in the list with the same key. */
function grouped<T>(items: readonly T[], keyOf: (item: T) => string): T[][] {
  const groups: T[][] = [];
  let last: string | undefined;
  for (const item of items) {
    const key = keyOf(item);
    if (key === last) (groups.at(-1) as T[]).push(item);
    else groups.push([item]);
    last = key;
  }
  return groups;
}

/** `bench 2` of `bench 2 / row 1 / 1` and `bench 2 / row 3 / 7`: whole words, up to the last number or letter. */
function commonBeginning(stations: readonly string[]): string {
  const [first = [], ...others] = stations.map((station) => station.split(/(\p{N}+|\p{L}+)/u));
  let count = others.reduce(
    (length, words) => {
      const differs = words.findIndex((word, index) => word !== first[index]);
      return Math.min(length, differs < 0 ? words.length : differs);
    },
    stations.length === 1 ? Math.max(1, first.length - 2) : first.length,
  );
  const isCoordinate = (word = '') => /^(\p{N}+|\p{L})$/u.test(word);
  const end = first.slice(0, count).findLastIndex(isCoordinate);
  if (end >= 0) count = end + 1;
  return first
    .slice(0, count)
    .join('')
    .replace(/[^\p{L}\p{N}]+$/u, '');
}
