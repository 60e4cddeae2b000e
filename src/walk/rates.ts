/**
 * How often things go amiss on these benches: the rule before the walk, and what the walk itself shows.
 *
 * What it shows depends on which pot is which plant, and the other way round; so they are found in turns
 * (expectation and maximisation), each pot counted in the shares that the last turn gave it.
 */
import type { Exchange } from './exchange.js';
import type { Comparison, Finding } from './findings.js';
import { WALK } from './parameters.js';
import { distance, type MovedTo, placeOf } from './stations.js';

/** Each as a share of one. */
export interface Rates {
  /** Of the pots, those without their own tag. */
  readonly lost: number;
  /** Of the pots without their own tag, those that wear another's. */
  readonly mishung: number;
  /** Of the plants, those that nobody wrote off. */
  readonly gone: number;
  /** Of the places where there is room, those where a strange pot stands. */
  readonly strange: number;
  /** Of the plants, those that changed places with another, or whose tags did. */
  readonly exchanged: number;
  /** Of the pots with their tag, and of those without. */
  readonly moved: number;
  readonly movedUntagged: number;
}

/** Which pot is which plant, as far as the rates hang on it; in numbers of pots and plants. */
export interface Counts {
  /** Pots without their own tag that hold a plant of the ledger, and those of them that left its station. */
  readonly untagged: number;
  readonly movedUntagged: number;
  /** Pots that wear another plant's tag. */
  readonly mishung: number;
  readonly strange: number;
  readonly gone: number;
}

/** Before any pot was matched: those where a plant is missing hold it, as far as there are plants. */
export function firstCounts({ findings, openPots, openPlants }: Comparison): Counts {
  const untagged = openPots.filter(({ worn }) => worn === null).length;
  const atHome = findings.filter(
    ({ kind, plants }) => (kind === 'tag-missing' || kind === 'unreadable') && plants.length > 0,
  ).length;
  return {
    untagged,
    movedUntagged: Math.max(0, untagged - atHome),
    mishung: 0,
    strange: Math.max(0, openPots.length - openPlants.length),
    gone: Math.max(0, openPlants.length - openPots.length),
  };
}

/** @param freeCount places where there is room */
export function ratesOf(
  { findings, openPlants }: Comparison,
  exchanges: ReadonlyMap<Finding, Exchange>,
  counts: Counts,
  freeCount: number,
): Rates {
  const inPlace = plantCount(findings, 'in-place');
  let [moved, mishung] = [plantCount(findings, 'moved'), counts.mishung];
  for (const [{ plants }, { potsMoved }] of exchanges) {
    moved += plants.length * potsMoved;
    mishung += plants.length * (1 - potsMoved);
  }
  const exchanged = [...exchanges.keys()].reduce((sum, { plants }) => sum + plants.length, 0);
  const { counted } = WALK;
  const rate = (before: { count: number; of: number }, more: number, of: number) =>
    (before.count + more) / (before.of + of);
  const all = inPlace + moved + mishung + openPlants.length;
  return {
    lost: rate(counted.lost, counts.untagged + mishung, all),
    mishung: rate(counted.mishung, mishung, counts.untagged + mishung),
    gone: rate(counted.gone, counts.gone, all),
    strange: rate(counted.strange, counts.strange, freeCount),
    exchanged: rate(counted.exchanged, exchanged, all),
    moved: rate(counted.moved, moved, inPlace + moved),
    movedUntagged: rate(counted.movedUntagged, counts.movedUntagged, counts.untagged),
  };
}

function plantCount(findings: readonly Finding[], kind: Finding['kind']): number {
  return findings.reduce((sum, finding) => sum + (finding.kind === kind ? finding.plants.length : 0), 0);
}

/** How far the tagged pots of this walk moved, added to the rule. */
export function movedTo({ findings }: Comparison): MovedTo {
  const counts: Record<keyof MovedTo, number> = { ...WALK.movedTo };
  for (const { kind, spots, plants } of findings) {
    if (kind !== 'moved' && kind !== 'exchanged' && kind !== 'rotated') continue;
    plants.forEach(({ station }, index) => {
      const spot = spots[index];
      if (spot === undefined || station === null) return;
      const way = distance(placeOf(station), spot.place).kind;
      if (way !== 'same') counts[way]++;
    });
  }
  const all = counts.row + counts.bench + counts.elsewhere;
  return { row: counts.row / all, bench: counts.bench / all, elsewhere: counts.elsewhere / all };
}
