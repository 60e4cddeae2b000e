/**
 * How often things go amiss on these benches: the rule before the walk, and what the walk itself shows.
 */
import type { Comparison, Finding } from './findings.js';
import { WALK } from './parameters.js';
import { distance, type MovedTo, placeOf } from './stations.js';

/** Each as a share of one. */
export interface Rates {
  readonly lost: number;
  readonly gone: number;
  readonly strange: number;
  /** Of the pots with their tag, and of those without. */
  readonly moved: number;
  readonly movedUntagged: number;
  readonly movedTo: MovedTo;
  /** Of the stations, those where no pot stands that stood there before: only there can one be set down. */
  readonly free: number;
}

/**
 * The rates before this walk, and what it shows of them: more plants missing than pots without a tag means
 * that some are gone, more pots than plants that some are strange, and a pot without a tag where no plant is
 * missing has been moved.
 */
export function ratesOf({ findings, openPots, openPlants }: Comparison): Rates {
  const count = (kinds: readonly string[]) =>
    findings.reduce((sum, { kind, plants }) => sum + (kinds.includes(kind) ? plants.length : 0), 0);
  const moved = count(['moved', 'exchanged', 'rotated']);
  const tagged = moved + count(['in-place']);
  const untagged = openPots.filter(({ worn }) => worn === null).length;
  const atHome = findings.filter(
    ({ kind, plants }) => (kind === 'tag-missing' || kind === 'unreadable') && plants.length > 0,
  ).length;
  const all = tagged + openPlants.length;
  const { counted } = WALK;
  const rate = (before: { count: number; of: number }, more: number, of: number) =>
    (before.count + Math.max(0, more)) / (before.of + of);
  return {
    lost: rate(counted.lost, untagged, all),
    gone: rate(counted.gone, openPlants.length - openPots.length, all),
    strange: rate(counted.strange, openPots.length - openPlants.length, all),
    moved: rate(counted.moved, moved, tagged),
    movedUntagged: rate(counted.movedUntagged, untagged - atHome, untagged),
    movedTo: movedTo(findings),
    free: freeShare(findings),
  };
}

/** How far the tagged pots of this walk moved, added to the rule. */
function movedTo(findings: readonly Finding[]): MovedTo {
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

function freeShare(findings: readonly Finding[]): number {
  let [free, all] = [1, 1];
  for (const { kind, spots, plants } of findings) {
    all += spots.length;
    if (kind !== 'in-place' || plants.length === 0) free += spots.length;
  }
  return free / all;
}
