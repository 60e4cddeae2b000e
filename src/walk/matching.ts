/**
 * Which plant is it? Open pots against the plants that may stand in them, all at once: the odds of each
 * pair from place, traits and legible characters; the likeliest assignment; the share of each pair.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { Plant } from '../ledger/model.js';
import { assign } from './assignment.js';
import type { OpenPot } from './findings.js';
import { WALK } from './parameters.js';
import { pairShares } from './posterior.js';
import type { Rates } from './rates.js';
import type { Reading } from './readings.js';
import { distance, type Place, shareOfMoves } from './stations.js';
import type { TraitKnowledge } from './traits.js';

/** A plant that may stand in an open pot. */
export interface Candidate {
  readonly plant: Plant;
  readonly home: Place | null;
  /** Its station was walked, and it was not there; or else it may stand there still. */
  readonly isMissing: boolean;
}

export interface Garden {
  readonly stations: number;
  readonly rates: Rates;
  readonly traits: TraitKnowledge;
}

export interface Match {
  readonly pot: OpenPot;
  /** In the likeliest assignment; null is none of the plants. */
  readonly assigned: Plant | null;
  /** Likeliest first; those of a negligible share are left out. */
  readonly shares: readonly { readonly plant: Plant; readonly share: number }[];
  /** Of "none of these". */
  readonly none: number;
}

export function matchPots(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
  garden: Garden,
): Match[] {
  const edges = prune(
    pots.map((pot) => {
      const odds = new Map<number, number>();
      candidates.forEach((candidate, index) => {
        const value = oddsOf(pot, candidate, garden);
        if (value > WALK.negligible) odds.set(index, value);
      });
      return odds;
    }),
  );
  const matches: Match[] = Array(pots.length);
  for (const { rows, columns } of components(edges)) {
    const odds = rows.map((row) => columns.map((column) => edges[row]?.get(column) ?? 0));
    const shares = pairShares(odds);
    const assigned = likeliest(odds);
    rows.forEach((row, at) => {
      const each = columns.map((column, index) => ({
        plant: (candidates[column] as Candidate).plant,
        share: shares[at]?.[index] ?? 0,
      }));
      const column = columns[assigned[at] ?? -1];
      matches[row] = {
        pot: pots[row] as OpenPot,
        assigned: column === undefined ? null : (candidates[column] as Candidate).plant,
        shares: each.filter(({ share }) => share > WALK.negligible).sort((a, b) => b.share - a.share),
        none: Math.max(0, 1 - each.reduce((sum, { share }) => sum + share, 0)),
      };
    });
  }
  return matches;
}

/**
 * How much likelier it is that this pot holds this plant than that the pot is a stranger's and the plant is
 * gone; 0 if it cannot be.
 */
export function oddsOf(
  { spot, worn }: OpenPot,
  { plant, home, isMissing }: Candidate,
  garden: Garden,
): number {
  const { rates, stations, traits } = garden;
  const way = home === null ? ({ kind: 'elsewhere' } as const) : distance(home, spot.place);
  // A pot that wears its own tag, against another with the tag stuck into it: either way the tag came here,
  // so that the distance says nothing.
  const isWorn = worn?.id === plant.id;
  const moved = isWorn ? rates.moved / WALK.mishung : rates.movedUntagged * rates.lost;
  const stayed = isWorn ? (1 - rates.moved) / WALK.mishung : (1 - rates.movedUntagged) * rates.lost;
  const cameHere = isWorn ? 1 : Math.min(1, shareOfMoves(way, rates.movedTo, stations) / rates.free);
  const stands = way.kind === 'same' ? stayed : moved * cameHere;
  const absent = isMissing ? rates.gone : 1;
  let odds = stands / (absent * rates.strange);
  if (spot.reading.kind === 'spoilt') odds *= spoiltTagRatio(spot.reading, plant.id, garden);
  for (const [trait, value] of spot.traits) odds *= traits.ratio(trait, value, plant.id);
  return odds;
}

/** The spoilt tag is the plant's own, or (tags change places too) that of any plant of the garden. */
function spoiltTagRatio(
  { pattern, candidates }: Extract<Reading, { kind: 'spoilt' }>,
  id: PlantId,
  { rates, stations }: Garden,
): number {
  const changed = rates.moved * (1 - WALK.potsNotTags);
  const legible = [...pattern].filter((character) => character !== '?').length;
  const anyPlants = (candidates.length / stations) * ALPHABET_SIZE ** legible;
  return (1 - changed) * legibleRatio(pattern, id) + changed * anyPlants;
}

const ALPHABET_SIZE = 32;

/** Legible characters, for this plant's tag against one with any characters. */
export function legibleRatio(pattern: string, id: PlantId): number {
  let ratio = 1;
  for (const [index, character] of [...pattern].entries()) {
    if (character === '?') continue;
    const right = character === id[index];
    const chance = right ? 1 - WALK.characterWrong : WALK.characterWrong / (ALPHABET_SIZE - 1);
    ratio *= chance * ALPHABET_SIZE;
  }
  return ratio;
}

type Edges = readonly ReadonlyMap<number, number>[];

/**
 * Leaves out pairs whose share cannot be more than negligible, so that most pots stand alone. Taking the
 * pair (pot, plant) apart and giving the plant its best pot instead (or the pot its best plant) multiplies
 * a matching's weight by at least the quotient below, which bounds the pair's share from above.
 */
function prune(edges: Edges): Edges {
  const byPot = edges.map((odds) => twoBest(odds.values()));
  const columns = new Map<number, number[]>();
  for (const odds of edges) {
    for (const [plant, value] of odds) pushTo(columns, plant, value);
  }
  const byPlant = new Map([...columns].map(([plant, values]) => [plant, twoBest(values)]));
  const rivalsOfPlant = bestPartner(edges, (pot, value) => rival(byPot[pot], value));
  return edges.map((odds) => {
    const entries = [...odds];
    const forPot = Math.max(...entries.map(([plant, value]) => value / rival(byPlant.get(plant), value)), 0);
    return new Map(
      entries.filter(([plant, value]) => {
        const forPlant = rivalsOfPlant.get(plant) ?? 0;
        return value / Math.max(forPot, forPlant, 1) > WALK.negligible;
      }),
    );
  });
}

/** For each plant, the largest odds of a pair with it against the best that its pot could have otherwise. */
function bestPartner(edges: Edges, rivalOf: (pot: number, value: number) => number): Map<number, number> {
  const best = new Map<number, number>();
  edges.forEach((odds, pot) => {
    for (const [plant, value] of odds) {
      best.set(plant, Math.max(best.get(plant) ?? 0, value / rivalOf(pot, value)));
    }
  });
  return best;
}

function pushTo(lists: Map<number, number[]>, key: number, value: number): void {
  const list = lists.get(key);
  if (list === undefined) lists.set(key, [value]);
  else list.push(value);
}

interface TwoBest {
  readonly first: number;
  readonly second: number;
}

function twoBest(values: Iterable<number>): TwoBest {
  let [first, second] = [0, 0];
  for (const value of values) {
    if (value > first) [first, second] = [value, first];
    else if (value > second) second = value;
  }
  return { first, second };
}

/** The best of the others, or 1 for going without. */
function rival(best: TwoBest | undefined, value: number): number {
  if (best === undefined) return 1;
  return Math.max(1, value === best.first ? best.second : best.first);
}

/** Pots and plants that are linked by pairs, however indirectly. */
function components(edges: Edges): { rows: number[]; columns: number[] }[] {
  const potsOf = new Map<number, number[]>();
  edges.forEach((odds, pot) => {
    for (const plant of odds.keys()) pushTo(potsOf, plant, pot);
  });
  const isSeen = new Set<number>();
  return edges.flatMap((_, start) => {
    if (isSeen.has(start)) return [];
    isSeen.add(start);
    const rows = [start];
    const columns = new Set<number>();
    for (const row of rows) {
      for (const plant of edges[row]?.keys() ?? []) {
        if (columns.has(plant)) continue;
        columns.add(plant);
        for (const other of potsOf.get(plant) ?? []) {
          if (isSeen.has(other)) continue;
          isSeen.add(other);
          rows.push(other);
        }
      }
    }
    return [{ rows: rows.sort((a, b) => a - b), columns: [...columns].sort((a, b) => a - b) }];
  });
}

/** The column of each row in the matching of the largest weight; -1 for none of them. */
function likeliest(odds: readonly (readonly number[])[]): number[] {
  const count = odds[0]?.length ?? 0;
  const withNone = odds.map((row) => [
    ...row.map((value) => (value === 0 ? Infinity : -Math.log(value))),
    ...odds.map(() => 0),
  ]);
  return (assign(withNone) ?? []).map((column) => (column < count ? column : -1));
}
