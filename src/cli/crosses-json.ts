/**
 * What each cross was worth, as `crosses --json` prints it. Shares and probabilities are from 0 to 1, times
 * in years.
 */
import type { CrossesReport, CrossReport, MoreSeedlings, RatioTest, Share } from '../breeding/crosses.js';
import { byName } from '../breeding/per-type.js';
import type { MeanOfPlants } from '../breeding/survey.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';

export function crossesJson({ crosses, parents, comparisons }: CrossesReport) {
  return {
    crosses: crosses.map(crossJson),
    parents: parents.map((parent) => ({
      crop: parent.crop,
      parent: parent.parent,
      as: parent.as,
      crosses: parent.crosses,
      sown: parent.sown,
      fruited: parent.fruited,
      keepers: shareJson(parent.keepers),
      persistent_females: parent.persistentFemales === null ? null : shareJson(parent.persistentFemales),
      liking: meanJson(parent.liking),
      brix: meanJson(parent.brix),
    })),
    comparisons: comparisons.map(({ crop, crosses: compared, test }) => ({
      crop,
      crosses: compared,
      chi2: test.chi2,
      df: test.df,
      p: test.p,
      groups: test.groups,
    })),
  };
}

function crossJson(report: CrossReport) {
  const { tally, types, firstFruit } = report;
  const isGerminationNoted = tally.germinated + tally.notGerminated > 0;
  return {
    crop: tally.crop.name,
    cross: report.cross,
    seed_parent: tally.seedParent,
    pollen_parent: tally.pollenParent,
    sown: tally.sown,
    germinated: isGerminationNoted ? { yes: tally.germinated, no: tally.notGerminated } : null,
    alive: tally.alive,
    fruited: tally.fruited,
    types:
      types === null
        ? null
        : {
            called: byName(types.called),
            open: types.open,
            females: types.females,
            caprifigs: types.caprifigs,
            pollen_parent:
              types.pollenParent === null
                ? null
                : {
                    carries_persistence: types.pollenParent.carriesPersistence,
                    is_male_twice: types.pollenParent.isMaleTwice,
                  },
            tests: report.ratioTests.map(testJson),
          },
    persistent_females: report.persistentFemales === null ? null : shareJson(report.persistentFemales),
    keepers: shareJson(report.keepers),
    more_seedlings: {
      chance: 0.95,
      for_a_keeper: moreJson(report.moreKeepers),
      for_a_persistent_female: types?.forPersistentFemale ?? null,
    },
    first_fruit: {
      plants: firstFruit.plants,
      fruited: firstFruit.fruited,
      median_years: firstFruit.median.time,
      median_low: firstFruit.median.low,
      median_high: firstFruit.median.high,
      method: 'Kaplan-Meier; 95 % bands by Greenwood on the log(-log) scale',
      curve: firstFruit.steps.map((step) => ({
        years: step.time,
        at_risk: step.atRisk,
        events: step.events,
        share_without_fruit: step.share,
        standard_error: step.standardError,
        low: step.band?.low ?? null,
        high: step.band?.high ?? null,
      })),
    },
    liking: meanJson(tally.liking),
    brix: meanJson(tally.brix),
  };
}

function testJson({ of, counts, expected, exactP, chiSquare, verdict }: RatioTest) {
  const names = of === 'types' ? FIG_TYPES : ['female', 'caprifig'];
  const named = (values: readonly number[]) =>
    Object.fromEntries(names.map((name, index) => [name, values[index] as number]));
  return {
    of,
    counts: named(counts),
    expected_shares: named(expected),
    exact_p: exactP,
    chi2: chiSquare?.chi2 ?? null,
    df: chiSquare?.df ?? null,
    chi2_p: chiSquare?.p ?? null,
    least_expected: chiSquare?.leastExpected ?? null,
    verdict,
  };
}

function shareJson({ hits, of, low, high, exact }: Share) {
  const share = of === 0 ? null : hits / of;
  return { hits, of, share, low, high, exact_low: exact.low, exact_high: exact.high };
}

function moreJson({ ifShareIsTrue, withUncertainty }: MoreSeedlings) {
  return { if_share_is_true: ifShareIsTrue, with_uncertainty: withUncertainty };
}

function meanJson({ plants, sum }: MeanOfPlants) {
  return { plants, mean: plants === 0 ? null : sum / plants };
}
