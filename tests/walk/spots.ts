/** Plants, spots and walks for tests, without a ledger. */
import { idOfNumber } from '../../src/ids/allocation.js';
import type { Plant } from '../../src/ledger/model.js';
import type { Reading, Spot, TagState } from '../../src/walk/readings.js';
import { placeOf } from '../../src/walk/stations.js';
import { seedling } from '../support/ledger.js';

/** Plant `number`, expected at this station. */
export function plantAt(number: number, station: string | null, more: Partial<Plant> = {}): Plant {
  return { ...seedling(`key ${number}`), id: idOfNumber(number, 5), number, ended: null, station, ...more };
}

export function spotAt(
  station: string,
  reading: Reading,
  traits: Readonly<Record<string, string | number>> = {},
): Spot {
  const scanned = reading.kind === 'tag' ? `${reading.plant.id}.${reading.issue}` : reading.kind;
  const place = placeOf(station);
  return { line: 0, station, place, scanned, traits: new Map(Object.entries(traits)), reading };
}

export const tagOf = (plant: Plant, state: TagState = 'current', issue = 1): Reading => ({
  kind: 'tag',
  plant,
  issue,
  state,
});
export const NO_TAG: Reading = { kind: 'no tag' };
export const NO_POT: Reading = { kind: 'no pot' };
export const STRANGER: Reading = { kind: 'stranger' };
export const spoilt = (pattern: string, ...candidates: readonly Plant[]): Reading => ({
  kind: 'spoilt',
  pattern,
  candidates,
});
