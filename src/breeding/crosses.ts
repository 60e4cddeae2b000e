/**
 * What each cross was worth, and what its numbers are enough to say.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import { formatCross } from '../plants/cross.js';
import { type CrossTypes, typesOfCrosses } from './cross-types.js';
import {
  type ChiSquareTest,
  chiSquareTest,
  exactMultinomialTest,
  leastPossibleP,
} from './goodness-of-fit.js';
import { CHANCE, seedlingsFor, seedlingsForUncertain } from './how-many.js';
import { clopperPearson, type Interval, wilson } from './proportion.js';
import { type CrossTally, type MeanOfPlants, surveyCrosses } from './survey.js';
import { kaplanMeier, type LogRank, logRank, median, type Step } from './survival.js';

/** With Wilson's interval; `exact` is Clopper and Pearson's, which is never too narrow. */
export interface Share extends Interval {
  readonly hits: number;
  readonly of: number;
  readonly exact: Interval;
}

/**
 * - `none`: nothing to test
 * - `too few`: not even the most uneven outcome of so many would contradict the ratio
 * - `agrees`: the counts do not contradict it, which does not prove it
 * - `contradicts`: the exact p is below 0.05
 * - `impossible`: a type was called that this cross cannot give
 */
export type Verdict = 'none' | 'too few' | 'agrees' | 'contradicts' | 'impossible';

/** Counts held against the shares expected of them. */
export interface RatioTest {
  /** `types`: the four types of figs; `sex`: females and caprifigs. */
  readonly of: 'types' | 'sex';
  readonly counts: readonly number[];
  readonly expected: readonly number[];
  readonly exactP: number | null;
  readonly chiSquare: ChiSquareTest | null;
  readonly verdict: Verdict;
}

/** Seedlings for a 95 % chance of at least one of a kind. */
export interface MoreSeedlings {
  /** If the share seen were the true one; null if none was seen. */
  readonly ifShareIsTrue: number | null;
  /** With the uncertainty of the share; null if more than any garden sows. */
  readonly withUncertainty: number | null;
}

export interface CrossReport {
  readonly tally: CrossTally;
  /** `A × B`; null if neither parent is known. */
  readonly cross: string | null;
  /** Null for a crop without the types of figs. */
  readonly types: CrossTypes | null;
  readonly ratioTests: readonly RatioTest[];
  /** Of the figs whose type is called; null for other crops. */
  readonly persistentFemales: Share | null;
  /** Of those that had their chance. */
  readonly keepers: Share;
  readonly moreKeepers: MoreSeedlings;
  readonly firstFruit: FirstFruit;
}

/** Years from sowing to first fruit. */
export interface FirstFruit {
  readonly plants: number;
  readonly fruited: number;
  readonly steps: readonly Step[];
  readonly median: ReturnType<typeof median>;
}

/** What a tree gave as seed parent and as pollen parent, over all its crosses. */
export interface ParentReport {
  readonly crop: string;
  readonly parent: string;
  readonly as: 'seed parent' | 'pollen parent';
  readonly crosses: number;
  readonly sown: number;
  readonly fruited: number;
  readonly keepers: Share;
  readonly persistentFemales: Share | null;
  readonly liking: MeanOfPlants;
  readonly brix: MeanOfPlants;
}

export interface CrossesReport {
  readonly crosses: readonly CrossReport[];
  readonly parents: readonly ParentReport[];
  /** Years to first fruit between the crosses of a crop that have enough plants, where there are two or more. */
  readonly comparisons: readonly {
    readonly crop: string;
    readonly crosses: readonly string[];
    readonly test: LogRank;
  }[];
}

const SIGNIFICANT = 0.05;

/** Crosses with fewer plants are not compared: they would only take from the others' power. */
const LEAST_COMPARED = 5;
const MOST_COMPARED = 60;

/** Reads the whole ledger once. */
export async function reportCrosses(ledger: LedgerReader, today: string): Promise<CrossesReport> {
  const tallies = await surveyCrosses(ledger, today);
  const types = await typesOfCrosses(ledger, tallies);
  const crosses = tallies.map((tally) => reportCross(tally, types.get(tally) ?? null));
  return { crosses, parents: reportParents(crosses), comparisons: compareFirstFruit(crosses) };
}

function reportCross(tally: CrossTally, types: CrossTypes | null): CrossReport {
  const keepers = shareOf(tally.keepers, tally.judged);
  const persistentFemales = types === null ? null : shareOf(types.called[0], sum(types.called));
  const steps = kaplanMeier(tally.waiting);
  return {
    tally,
    cross: formatCross(tally.seedParent, tally.pollenParent) ?? null,
    types,
    ratioTests: types === null ? [] : testRatios(types),
    persistentFemales,
    keepers,
    moreKeepers: moreSeedlings(keepers),
    firstFruit: {
      plants: tally.waiting.length,
      fruited: tally.waiting.filter(({ happened }) => happened).length,
      steps,
      median: median(steps),
    },
  };
}

function testRatios({ called, females, caprifigs, expected }: CrossTypes): RatioTest[] {
  const sexes = testRatio('sex', [females, caprifigs], [expected.female, 1 - expected.female]);
  return expected.types === null ? [sexes] : [testRatio('types', called, expected.types), sexes];
}

function testRatio(of: RatioTest['of'], counts: readonly number[], expected: readonly number[]): RatioTest {
  const total = sum(counts);
  const exactP = exactMultinomialTest(counts, expected) ?? null;
  const chiSquare = chiSquareTest(counts, expected) ?? null;
  return { of, counts, expected, exactP, chiSquare, verdict: verdict() };

  function verdict(): Verdict {
    if (total === 0) return 'none';
    if (counts.some((count, cell) => count > 0 && expected[cell] === 0)) return 'impossible';
    if (leastPossibleP(total, expected) > SIGNIFICANT) return 'too few';
    return (exactP ?? chiSquare?.p ?? 1) < SIGNIFICANT ? 'contradicts' : 'agrees';
  }
}

function shareOf(hits: number, of: number): Share {
  return { hits, of, ...wilson(hits, of), exact: clopperPearson(hits, of) };
}

function moreSeedlings({ hits, of }: Share): MoreSeedlings {
  return {
    ifShareIsTrue: hits === 0 ? null : seedlingsFor(hits / of, CHANCE),
    withUncertainty: seedlingsForUncertain(hits, of, CHANCE),
  };
}

function reportParents(crosses: readonly CrossReport[]): ParentReport[] {
  const groups = new Map<string, { parent: string; as: ParentReport['as']; crosses: CrossReport[] }>();
  for (const cross of crosses) {
    const { crop, seedParent, pollenParent } = cross.tally;
    for (const [parent, as] of [
      [seedParent, 'seed parent'],
      [pollenParent, 'pollen parent'],
    ] as const) {
      if (parent === null) continue;
      const key = JSON.stringify([crop.name, as, parent]);
      const group = groups.get(key) ?? { parent, as, crosses: [] };
      group.crosses.push(cross);
      groups.set(key, group);
    }
  }
  return [...groups.values()].map(({ parent, as, crosses: own }) => {
    const total = (of: (cross: CrossReport) => number) => sum(own.map(of));
    const mean = (trait: 'liking' | 'brix') => ({
      plants: total(({ tally }) => tally[trait].plants),
      sum: total(({ tally }) => tally[trait].sum),
    });
    const hasTypes = own.some(({ persistentFemales }) => persistentFemales !== null);
    return {
      crop: own[0]?.tally.crop.name ?? '',
      parent,
      as,
      crosses: own.length,
      sown: total(({ tally }) => tally.sown),
      fruited: total(({ tally }) => tally.fruited),
      keepers: shareOf(
        total(({ keepers }) => keepers.hits),
        total(({ keepers }) => keepers.of),
      ),
      persistentFemales: hasTypes
        ? shareOf(
            total(({ persistentFemales }) => persistentFemales?.hits ?? 0),
            total(({ persistentFemales }) => persistentFemales?.of ?? 0),
          )
        : null,
      liking: mean('liking'),
      brix: mean('brix'),
    };
  });
}

function compareFirstFruit(crosses: readonly CrossReport[]): CrossesReport['comparisons'][number][] {
  const crops = [...new Set(crosses.map(({ tally }) => tally.crop.name))];
  return crops.flatMap((crop) => {
    const compared = crosses
      .filter(({ tally, firstFruit }) => tally.crop.name === crop && firstFruit.plants >= LEAST_COMPARED)
      .sort((a, b) => b.firstFruit.plants - a.firstFruit.plants)
      .slice(0, MOST_COMPARED);
    const test = compared.length < 2 ? undefined : logRank(compared.map(({ tally }) => tally.waiting));
    return test === undefined ? [] : [{ crop, crosses: compared.map(({ cross }) => cross ?? '? × ?'), test }];
  });
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
