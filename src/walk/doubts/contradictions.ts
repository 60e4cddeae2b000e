/**
 * Contradictions that no exchange explains: a value that was misjudged or miswritten, or a trait that changed
 * for good, as in a sport.
 */
import type { Observation } from '../../ledger/model.js';
import type { GardenTraits } from './garden.js';
import { type DayRecord, type PlantHistory, tellsOfType } from './history.js';
import { type TraitFit, TYPE, traitFits } from './one-plant.js';
import { DOUBTS } from './parameters.js';

export interface Contradiction {
  readonly history: PlantHistory;
  readonly trait: string;
  /** `odd-one-out`: all fits but one of `records`; `changed`: all before the first of `records` is otherwise. */
  readonly kind: 'odd-one-out' | 'changed';
  readonly records: readonly DayRecord[];
}

/** Of these records, the observations that speak of the trait. */
export function observationsOf({ trait, records }: Contradiction): Observation[] {
  const speaks = ({ values }: Observation) =>
    trait === TYPE ? tellsOfType(values) : values[trait] !== undefined;
  return records.flatMap(({ seen }) => seen.filter(speaks));
}

/** A record is not named if another is so much likelier to be the wrong one. */
const LEAST_SHARE = 0.2;

export function contradictionsOf(history: PlantHistory, garden: GardenTraits): Contradiction[] {
  return traitFits(history.records, garden).flatMap((fit): Contradiction[] => {
    const records = oddOnesOut(history, fit);
    if (records.length > 0) return [{ history, trait: fit.trait, kind: 'odd-one-out', records }];
    const changed = changedAt(history, fit, garden);
    return changed === null ? [] : [{ history, trait: fit.trait, kind: 'changed', records: changed }];
  });
}

/** The record without which the rest fits; several where it cannot be told which. */
function oddOnesOut({ records }: PlantHistory, { whole, without }: TraitFit): DayRecord[] {
  const gains = [...without].map(([index, fit]) => ({ index, gain: Math.exp(fit - whole) }));
  const most = Math.max(...gains.map(({ gain }) => gain));
  if (most < DOUBTS.contradicts) return [];
  return gains
    .filter(({ gain }) => gain >= LEAST_SHARE * most)
    .map(({ index }) => records[index] as DayRecord);
}

function changedAt(
  { records }: PlantHistory,
  { trait, whole, without }: TraitFit,
  garden: GardenTraits,
): DayRecord[] | null {
  const fitOf = (part: readonly DayRecord[]) =>
    traitFits(part, garden).find((fit) => fit.trait === trait)?.whole ?? 0;
  let best: { gain: number; at: number } | null = null;
  for (const at of [...without.keys()].slice(1)) {
    const gain = Math.exp(fitOf(records.slice(0, at)) + fitOf(records.slice(at)) - whole);
    if (gain >= DOUBTS.contradicts && gain > (best?.gain ?? 0)) best = { gain, at };
  }
  const from = best?.at;
  return from === undefined ? null : records.filter((_, index) => index >= from && without.has(index));
}
