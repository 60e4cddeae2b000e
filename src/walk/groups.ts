/**
 * Pots and plants that have to be looked at together. Pairs whose share cannot be more than negligible are
 * left out, which leaves most pots alone with one plant.
 */
import { shareBounds } from './bounds.js';
import type { OpenPot } from './findings.js';
import { type Candidate, type Garden, oddsFor } from './odds.js';
import { WALK } from './parameters.js';

/** For each pot, plants by index with a number for each. */
export type Edges = readonly ReadonlyMap<number, number>[];

/** Linked by pairs, however indirectly. */
export interface Group {
  /** Pots and candidates by index. */
  readonly pots: readonly number[];
  readonly plants: readonly number[];
  /** The odds of each pair; pots and plants by their place in the group. */
  readonly odds: Edges;
}

/** Bounds of shares change by less than this factor when the rates do. */
const RATES_MAY_CHANGE = 100;

/** For each pot the candidates, by index, that may have a share in it, whatever the rates come to be. */
export function possiblePairs(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
  garden: Garden,
): number[][] {
  const mayBe = partners(pots, candidates);
  // Worked out anew each time: all pairs of a large garden would fill the memory.
  const each = (pot: number, visit: (plant: number, odds: number) => void) => {
    const oddsOf = oddsFor(pots[pot] as OpenPot, garden);
    for (const index of mayBe(pots[pot] as OpenPot)) visit(index, oddsOf(candidates[index] as Candidate));
  };
  const bound = shareBounds(pots.length, candidates.length, each);
  return pots.map((_, pot) => {
    const possible: number[] = [];
    each(pot, (plant, odds) => {
      if (bound(pot, plant, odds) > WALK.negligible / RATES_MAY_CHANGE) possible.push(plant);
    });
    return possible;
  });
}

/**
 * Which candidates a pot can be at all. A pot with a tag that hangs on none of its own in order, of whole
 * benches that moved, is the tag's plant, the one expected there, the one whose tag hangs where the first
 * belongs (an exchange), or one whose tag was not seen.
 */
function partners(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
): (pot: OpenPot) => readonly number[] {
  const byId = new Map(candidates.map(({ plant }, index) => [plant.id, index]));
  const atHome = new Map<string, number[]>();
  candidates.forEach(({ home }, index) => {
    if (home !== null) atHome.set(home.key, [...(atHome.get(home.key) ?? []), index]);
  });
  const worn = new Map(pots.flatMap((pot) => (pot.worn === null ? [] : [[pot.spot.place.key, pot.worn.id]])));
  const isWorn = new Set<string>(worn.values());
  const all = [...candidates.keys()];
  const unseen = all.filter((index) => !isWorn.has(candidates[index]?.plant.id ?? ''));
  return (pot) => {
    const own = pot.worn === null ? undefined : byId.get(pot.worn.id);
    if (own === undefined) return all;
    const there = worn.get(candidates[own]?.home?.key ?? '');
    const partner = there === undefined ? undefined : byId.get(there);
    const near = [
      own,
      ...(atHome.get(pot.spot.place.key) ?? []),
      ...(partner === undefined ? [] : [partner]),
    ];
    return [...new Set([...near, ...unseen])];
  };
}

/** @param possible what `possiblePairs` gave for the same pots and candidates */
export function groupsOf(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
  possible: readonly (readonly number[])[],
  garden: Garden,
): Group[] {
  const odds = pots.map((pot, row) => {
    const oddsOf = oddsFor(pot, garden);
    return new Map(
      (possible[row] ?? []).map((index) => [index, oddsOf(candidates[index] as Candidate)] as const),
    );
  });
  return parted(prune(odds, candidates.length), candidates.length);
}

function prune(odds: Edges, plantCount: number): Edges {
  const bound = shareBounds(odds.length, plantCount, (pot, visit) =>
    odds[pot]?.forEach((value, plant) => {
      visit(plant, value);
    }),
  );
  return odds.map(
    (own, pot) => new Map([...own].filter(([plant, value]) => bound(pot, plant, value) > WALK.negligible)),
  );
}

function parted(odds: Edges, plantCount: number): Group[] {
  const potsOf: number[][] = Array.from({ length: plantCount }, () => []);
  odds.forEach((own, pot) => {
    for (const plant of own.keys()) potsOf[plant]?.push(pot);
  });
  const isSeen = new Set<number>();
  return odds.flatMap((_, start) => {
    if (isSeen.has(start)) return [];
    isSeen.add(start);
    const pots = [start];
    const found = new Set<number>();
    for (const pot of pots) {
      for (const plant of odds[pot]?.keys() ?? []) {
        if (found.has(plant)) continue;
        found.add(plant);
        for (const other of potsOf[plant] ?? []) {
          if (isSeen.has(other)) continue;
          isSeen.add(other);
          pots.push(other);
        }
      }
    }
    pots.sort((a, b) => a - b);
    const plants = [...found].sort((a, b) => a - b);
    const placeOf = new Map(plants.map((plant, place) => [plant, place]));
    const inGroup = pots.map(
      (pot) => new Map([...(odds[pot] ?? [])].map(([plant, value]) => [placeOf.get(plant) ?? 0, value])),
    );
    return [{ pots, plants, odds: inGroup }];
  });
}
