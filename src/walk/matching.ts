/**
 * Which plant is it? Open pots against the plants that may stand in them, all at once: the share of each
 * pair, and the likeliest assignment.
 */
import type { Plant } from '../ledger/model.js';
import { assign } from './assignment.js';
import type { OpenPot } from './findings.js';
import { type Edges, type Group, groupsOf, possiblePairs } from './groups.js';
import type { Candidate, Garden } from './odds.js';
import { WALK } from './parameters.js';
import { pairShares } from './posterior.js';
import type { Counts } from './rates.js';

export interface Match {
  readonly pot: OpenPot;
  /** Likeliest first; those of a negligible share are left out. */
  readonly shares: readonly { readonly plant: Plant; readonly share: number }[];
  /** Of "none of these". */
  readonly none: number;
  /** In the likeliest assignment; null is none of the plants. */
  readonly assigned: Plant | null;
}

/**
 * The rates tell how likely each match is, and the matches what the rates are: they are found in turns.
 * @param gardenWith the garden, if this was counted in it
 */
export function matchPots(
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
  first: Counts,
  gardenWith: (counts: Counts) => Garden,
): Match[] {
  let garden = gardenWith(first);
  const possible = possiblePairs(pots, candidates, garden);
  let groups = groupsOf(pots, candidates, possible, garden);
  for (let turn = 1; turn < WALK.turns; turn++) {
    garden = gardenWith(countsOf(sharesIn(groups, pots, candidates), candidates));
    groups = groupsOf(pots, candidates, possible, garden);
  }
  const assigned = assignedIn(groups, candidates);
  return sharesIn(groups, pots, candidates).map(({ pot, shares, none }, index) => ({
    pot,
    shares: shares
      .map(({ candidate: { plant }, share }) => ({ plant, share }))
      .sort((a, b) => b.share - a.share),
    none,
    assigned: assigned[index] ?? null,
  }));
}

interface PotCandidates {
  readonly pot: OpenPot;
  readonly shares: readonly { readonly candidate: Candidate; readonly share: number }[];
  readonly none: number;
}

function sharesIn(
  groups: readonly Group[],
  pots: readonly OpenPot[],
  candidates: readonly Candidate[],
): PotCandidates[] {
  const all: PotCandidates[] = Array(pots.length);
  for (const group of groups) {
    const ofPots = pairShares(group.odds, group.plants.length);
    group.pots.forEach((pot, row) => {
      let none = 1;
      const shares: { candidate: Candidate; share: number }[] = [];
      ofPots[row]?.forEach((share, column) => {
        none -= share;
        if (share <= WALK.negligible) return;
        shares.push({ candidate: candidates[group.plants[column] as number] as Candidate, share });
      });
      all[pot] = { pot: pots[pot] as OpenPot, shares, none: Math.max(0, none) };
    });
  }
  return all;
}

/** What there is of everything, by the shares that the pots were given. */
function countsOf(matches: readonly PotCandidates[], candidates: readonly Candidate[]): Counts {
  const found = new Map<Candidate, number>();
  const counts = { untagged: 0, movedUntagged: 0, mishung: 0, strange: 0, gone: 0 };
  for (const { pot, shares, none } of matches) {
    const { place, reading } = pot.spot;
    counts.strange += none;
    for (const { candidate, share } of shares) {
      found.set(candidate, (found.get(candidate) ?? 0) + share);
      if (pot.worn !== null) counts.mishung += candidate.plant.id === pot.worn.id ? 0 : share;
      else {
        counts.untagged += share;
        if (candidate.home?.key !== place.key && reading.kind !== 'spoilt') counts.movedUntagged += share;
      }
    }
  }
  for (const candidate of candidates) {
    if (candidate.isMissing) counts.gone += Math.max(0, 1 - (found.get(candidate) ?? 0));
  }
  return counts;
}

function assignedIn(groups: readonly Group[], candidates: readonly Candidate[]): (Plant | undefined)[] {
  const all: (Plant | undefined)[] = [];
  for (const { pots, plants, odds } of groups) {
    const columns = likeliest(odds, plants.length);
    pots.forEach((pot, row) => {
      const plant = plants[columns[row] ?? -1];
      all[pot] = plant === undefined ? undefined : candidates[plant]?.plant;
    });
  }
  return all;
}

/** The column of each row in the matching of the largest weight; -1 for none of them. */
function likeliest(odds: Edges, columnCount: number): number[] {
  const withNone = odds.map((row) => {
    const costs = new Float64Array(columnCount + odds.length).fill(Infinity, 0, columnCount);
    for (const [column, value] of row) costs[column] = -Math.log(value);
    return costs;
  });
  return (assign(withNone) ?? []).map((column) => (column < columnCount ? column : -1));
}
