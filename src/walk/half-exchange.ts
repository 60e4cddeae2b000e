/**
 * Half of an exchange: a tag hangs in the place of a plant whose own tag is spoilt or gone, on a pot that
 * stands where the first tag belongs. Two pots or two tags changed places there, and one of the tags suffered
 * since: one event, much likelier than two that fit each other by chance.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { OpenPot } from './findings.js';
import type { Candidate } from './odds.js';
import type { Spot } from './readings.js';
import type { Place } from './stations.js';

export interface HalfExchange {
  /** The two places. */
  readonly places: readonly [Place, Place];
  /** The pot of this spot has the tag that can be read; at the other hangs, or hung, that of `other`. */
  readonly tagged: Spot;
  readonly other: PlantId;
  readonly plants: readonly [PlantId, PlantId];
}

/** Spot → the exchange it may be half of. */
export function halfExchanges(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
): ReadonlyMap<Spot, HalfExchange> {
  const untagged = new Map(
    pots.flatMap(({ spot, worn }) => (worn === null ? [[spot.place.key, spot] as const] : [])),
  );
  const atHome = new Map(candidates.flatMap(({ home, plant }) => (home === null ? [] : [[home.key, plant]])));
  const homes = new Map(candidates.map(({ plant, home }) => [plant.id, home]));
  const found = new Map<Spot, HalfExchange>();
  for (const { spot, worn } of pots) {
    const home = worn === null ? null : homes.get(worn.id);
    const there = home == null ? undefined : untagged.get(home.key);
    const other = atHome.get(spot.place.key);
    if (worn === null || there === undefined || other === undefined || other.id === worn.id) continue;
    if (there.reading.kind !== 'no tag' && !mayBeTagOf(there, other.id)) continue;
    const half: HalfExchange = {
      places: [spot.place, there.place],
      tagged: spot,
      other: other.id,
      plants: [worn.id, other.id],
    };
    found.set(spot, half).set(there, half);
  }
  return found;
}

function mayBeTagOf({ reading }: Spot, id: PlantId): boolean {
  if (reading.kind !== 'spoilt') return false;
  return reading.candidates.length === 0 || reading.candidates.some((candidate) => candidate.id === id);
}

/**
 * Plant → those with which it may have exchanged tags before one of the two pots went elsewhere: the tag of
 * the one hangs in the place of the other, whose own tag hangs somewhere else.
 */
export function exchangedTags(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
): ReadonlyMap<PlantId, ReadonlySet<PlantId>> {
  const isWorn = new Set(pots.flatMap(({ worn }) => (worn === null ? [] : [worn.id])));
  const atHome = new Map(
    candidates.flatMap(({ home, plant }) => (home === null ? [] : [[home.key, plant.id]])),
  );
  const found = new Map<PlantId, Set<PlantId>>();
  const add = (one: PlantId, other: PlantId) => {
    found.set(one, (found.get(one) ?? new Set<PlantId>()).add(other));
  };
  for (const { spot, worn } of pots) {
    const other = atHome.get(spot.place.key);
    if (worn === null || other === undefined || other === worn.id || !isWorn.has(other)) continue;
    add(worn.id, other);
    add(other, worn.id);
  }
  return found;
}
