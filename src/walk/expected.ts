/**
 * The plants that a walk can miss: of a large ledger, those of the rows walked alone.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import { type Place, placeOf, rowOf } from './stations.js';

export interface ExpectedPlants {
  /** Living plants of the rows walked. */
  readonly inRows: readonly Plant[];
  /** How many living plants have a station, anywhere. */
  readonly placed: number;
}

/** More lists of numbers take longer to look for than the plants they leave out to read. */
const MOST_LISTS = 20;

export async function expectedPlants(
  ledger: LedgerReader,
  places: readonly Place[],
): Promise<ExpectedPlants> {
  const rows = new Set(places.map(rowOf));
  const plants = await ledger.plants({ alive: true, stationNumbers: numbersOf(places) });
  return {
    inRows: plants.filter(({ station }) => station !== null && rows.has(rowOf(placeOf(station)))),
    placed: await ledger.count({ alive: true, stationNumbers: [[]] }),
  };
}

/**
 * What the names of the stations of these rows have in common in any spelling, accents and all: their
 * numbers but the last. Of many rows, those of their benches, or of nothing at all.
 */
export function numbersOf(places: readonly Place[]): number[][] {
  const lists = places.map(rowNumbers);
  for (let length = lists.reduce((most, { length: own }) => Math.max(most, own), 0); length > 0; length--) {
    const distinct = new Map(lists.map((list) => [list.slice(0, length).join(), list.slice(0, length)]));
    if (distinct.size <= MOST_LISTS) return [...distinct.values()];
  }
  return [[]];
}

/** The numbers in the name of a row; the last coordinate of its stations, if it is one, is their own. */
function rowNumbers({ key, coordinates }: Place): number[] {
  const numbers = key.split(' ').flatMap((word) => (/^\d{1,9}$/.test(word) ? [Number(word)] : []));
  return numbers.at(-1) === coordinates.at(-1) ? numbers.slice(0, -1) : numbers;
}
