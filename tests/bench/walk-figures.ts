/**
 * How well walks through simulated gardens are understood, beside two plain ways of guessing.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Interval, wilson } from '../../src/breeding/proportion.js';
import type { Plant } from '../../src/ledger/model.js';
import type { Spot } from '../../src/walk/readings.js';
import { readWalk } from '../../src/walk/rows.js';
import { placeOf } from '../../src/walk/stations.js';
import { examineWalk, type WalkReport } from '../../src/walk/walk.js';
import { type Garden, makeLedger, type Rates, simulate, WALKED } from './walk-simulator.js';

export interface Share {
  right: number;
  of: number;
}

export interface Figures {
  /** Stations whose finding is of the right kind. */
  readonly findings: Share;
  /** Of the plants proposed (at 0.9 or more). */
  readonly proposals: Share;
  /** Of the open pots that hold a plant of the ledger: those proposed, and rightly. */
  readonly recovered: Share;
  /** The same, taking the likeliest plant whatever its probability, as the two below do. */
  readonly likeliest: Share;
  readonly exchanges: Share;
  readonly nearestMissing: Share;
  readonly traitsAlone: Share;
  /** Probability said and whether it was so, for each open pot. */
  readonly said: { readonly probability: number; readonly isRight: boolean }[];
}

export async function figuresOf(
  gardens: number,
  stations: number,
  rates: Rates,
  firstSeed: number,
): Promise<Figures> {
  const none = (): Share => ({ right: 0, of: 0 });
  const figures: Figures = {
    findings: none(),
    proposals: none(),
    recovered: none(),
    likeliest: none(),
    exchanges: none(),
    nearestMissing: none(),
    traitsAlone: none(),
    said: [],
  };
  const folder = mkdtempSync(join(tmpdir(), 'pottag-walk-'));
  try {
    for (let index = 0; index < gardens; index++) {
      const garden = simulate(stations, rates, firstSeed + index, 5);
      const ledger = await makeLedger(join(folder, String(index)), garden.plants, 5);
      const rows = readWalk(Buffer.from(garden.csv), 'walk.csv');
      count(figures, garden, await examineWalk(ledger, 5, rows, WALKED));
      ledger.close();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return figures;
}

function count(figures: Figures, { truth, kinds }: Garden, report: WalkReport): void {
  const { findings, openPlants } = report.comparison;
  for (const { kind, spots } of findings) {
    for (const { station } of spots) {
      const right = kinds.get(station);
      if (right !== undefined) tally(figures.findings, kind === right);
    }
  }
  for (const [{ spots, plants }, { what }] of report.exchanges) {
    if (what === null) continue;
    const isTagRight = spots.every(({ station }, index) => truth.get(station) === plants[index]?.id);
    tally(figures.exchanges, isTagRight === (what === 'pots'));
  }
  for (const { pot, plant, probability, isProposed } of report.proposals) {
    const { spot } = pot;
    const is = truth.get(spot.station);
    const isRight = plant !== null && plant.id === is;
    if (plant !== null) figures.said.push({ probability, isRight });
    if (isProposed) tally(figures.proposals, isRight);
    if (is === null || is === undefined) continue;
    tally(figures.recovered, isProposed && isRight);
    tally(figures.likeliest, isRight);
    tally(figures.nearestMissing, nearest(spot, openPlants)?.id === is);
    tally(figures.traitsAlone, likest(spot, openPlants, report)?.id === is);
  }
}

function tally(share: Share, isRight: boolean): void {
  share.of++;
  if (isRight) share.right++;
}

/** The missing plant that stood nearest, by steps through the garden. */
function nearest(spot: Spot, plants: readonly Plant[]): Plant | undefined {
  return best(plants, (plant) => -steps(placeOf(plant.station ?? '').coordinates, spot.place.coordinates));
}

function steps(a: readonly number[], b: readonly number[]): number {
  const weights = [50, 10, 1];
  return weights.reduce(
    (sum, weight, index) => sum + weight * Math.abs((a[index] ?? 0) - (b[index] ?? 0)),
    0,
  );
}

/** The missing plant that the traits fit best. */
function likest(spot: Spot, plants: readonly Plant[], { knowledge }: WalkReport): Plant | undefined {
  return best(plants, ({ id }) =>
    [...spot.traits].reduce((sum, [trait, value]) => sum + Math.log(knowledge.ratio(trait, value, id)), 0),
  );
}

function best(plants: readonly Plant[], score: (plant: Plant) => number): Plant | undefined {
  let found: { plant: Plant; score: number } | undefined;
  for (const plant of plants) {
    const own = score(plant);
    if (found === undefined || own > found.score) found = { plant, score: own };
  }
  return found?.plant;
}

/** Mean squared difference of what was said and what was so (Brier 1950). */
export function brierScore(said: Figures['said']): number {
  const sum = said.reduce(
    (total, { probability, isRight }) => total + (probability - Number(isRight)) ** 2,
    0,
  );
  return sum / said.length;
}

export interface Bin {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  readonly said: number;
  readonly right: number;
  /** Of the share that is right: Wilson's, at 95 %. */
  readonly interval: Interval;
}

const EDGES = [0, 0.3, 0.5, 0.7, 0.9, 0.99, 0.999, 1.000001];

/** How often it was so, by what was said. */
export function reliability(said: Figures['said']): Bin[] {
  return EDGES.slice(0, -1).map((from, index) => {
    const to = EDGES[index + 1] as number;
    const own = said.filter(({ probability }) => probability >= from && probability < to);
    const rightCount = own.filter(({ isRight }) => isRight).length;
    const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
    return {
      from,
      to,
      count: own.length,
      said: mean(own.map(({ probability }) => probability)),
      right: rightCount / own.length,
      interval: wilson(rightCount, own.length),
    };
  });
}
