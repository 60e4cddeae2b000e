/**
 * Histories written down in a line each, for tests of doubts.
 */
import type { History, KnownObservation, ObservedValues, Plant } from '../../../src/ledger/model.js';
import { GardenTraits } from '../../../src/walk/doubts/garden.js';
import { historyOf, type PlantHistory } from '../../../src/walk/doubts/history.js';
import { plantAt } from '../spots.js';

export type Seen = Readonly<Record<string, ObservedValues>>;

/** The plant of that number, and what was seen of it: date → values. */
export function seenOn(number: number, seen: Seen, fields: Partial<Plant> = {}): History {
  const plant = plantAt(number, `bench 1 / row 1 / ${number}`, fields);
  return { plant, observations: Object.entries(seen).map(([date, values]) => observed(plant, date, values)) };
}

export function observed({ id, number }: Plant, date: string, values: ObservedValues): KnownObservation {
  const sure = { byTag: true, doubtful: false };
  const recorded = { by: 'wren', recordedAt: `${date}T12:00:00.000Z`, recordedAs: id, ...sure };
  return { number, entry: `${id} ${date}`, date, values, issue: null, photo: null, ...recorded };
}

export function gardenOf(histories: readonly History[]): {
  readonly garden: GardenTraits;
  readonly own: readonly PlantHistory[];
} {
  const garden = new GardenTraits();
  const own = histories.map(historyOf);
  for (const history of own) garden.add(history);
  return { garden, own };
}
