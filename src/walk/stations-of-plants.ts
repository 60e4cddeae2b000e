/** The stations of living plants, in the order in which one walks past them. */
import type { LedgerReader } from '../ledger/ledger.js';
import { type Place, placeOf } from './stations.js';

/** @param prefix how their names begin */
export async function stationsOfPlants(ledger: LedgerReader, prefix: string): Promise<string[]> {
  const plants = await ledger.plants({ alive: true, stationPrefix: prefix });
  const names = new Map<string, { readonly name: string; readonly place: Place }>();
  for (const { station } of plants) {
    if (station === null) continue;
    const place = placeOf(station);
    if (!names.has(place.key)) names.set(place.key, { name: station, place });
  }
  return [...names.values()].sort((a, b) => compare(a.place, b.place)).map(({ name }) => name);
}

function compare(a: Place, b: Place): number {
  if (a.system !== b.system) return a.system < b.system ? -1 : 1;
  const differs = a.coordinates.findIndex((value, index) => value !== b.coordinates[index]);
  return differs === -1 ? 0 : (a.coordinates[differs] ?? 0) - (b.coordinates[differs] ?? 0);
}
