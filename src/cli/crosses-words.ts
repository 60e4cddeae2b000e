/**
 * What each cross was worth, for the grower; and what there is too little of to say.
 */

import type { CrossTypes } from '../breeding/cross-types.js';
import type { CrossesReport, CrossReport, MoreSeedlings, RatioTest, Share } from '../breeding/crosses.js';
import type { MeanOfPlants } from '../breeding/survey.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';
import { counted, pInWords, ratioInWords, shareInPercent } from '../wording.js';
import { bold, columns, dim, yellow } from './console.js';

/** Expected counts below this make χ² unsure (Cochran 1954). */
const LEAST_EXPECTED = 5;

/** So many plants with fruit make a curve worth reading. */
const LEAST_FRUITED = 5;

export function crossesInWords(report: CrossesReport): string {
  if (report.crosses.length === 0) return 'No seedlings are enrolled yet.';
  const crops = new Set(report.crosses.map(({ tally }) => tally.crop.name));
  const blocks = report.crosses.map((cross) => crossInWords(cross, crops.size > 1));
  return [...blocks, parentsInWords(report), ...comparisonsInWords(report), notes(report)].join('\n\n');
}

function crossInWords(report: CrossReport, nameCrop: boolean): string {
  const { tally } = report;
  const rows: (readonly [string, string])[] = [['seedlings', countsInWords(report)]];
  // Where nothing has fruited, all but what to expect would say that nothing is known.
  const isYoung = tally.fruited === 0;
  if (report.types !== null && !isYoung) {
    rows.push(['types', typesInWords(report)]);
    for (const test of testsToTell(report))
      rows.push(...testInWords(test).map((line) => ['', line] as const));
    const doubled = report.types.pollenParent?.isMaleTwice ?? 0;
    if (doubled >= 0.5) {
      const text = `${tally.pollenParent} probably has the male factor twice (${shareInPercent(doubled)}):`;
      rows.push(['', yellow(text)], ['', yellow('then all its seedlings are caprifigs')]);
    }
  }
  if (report.persistentFemales !== null && report.persistentFemales.of > 0) {
    rows.push(['persistent females', shareInWords(report.persistentFemales, 'called')]);
  }
  if (report.types !== null) {
    rows.push([
      report.persistentFemales?.of ? '' : 'persistent females',
      persistentFemaleInWords(report.types),
    ]);
  }
  if (!isYoung || report.keepers.hits > 0) rows.push(['keepers', keepersInWords(report)]);
  if (report.keepers.hits > 0) rows.push(['', moreInWords(report.moreKeepers)]);
  if (!isYoung) rows.push(['first fruit', firstFruitInWords(report)]);
  const title = `${bold(report.cross ?? 'parents not known')}${nameCrop ? `  ${dim(tally.crop.name)}` : ''}`;
  return `${title}\n${columns(rows, '  ')}`;
}

function countsInWords({ tally }: CrossReport): string {
  const parts = [`${tally.sown} sown`];
  if (tally.germinated + tally.notGerminated > 0) {
    parts.push(`${tally.germinated} of ${tally.germinated + tally.notGerminated} noted came up`);
  }
  parts.push(`${tally.alive} alive`, tally.fruited === 0 ? 'none fruited yet' : `${tally.fruited} fruited`);
  return parts.join(', ');
}

function typesInWords({ types }: CrossReport): string {
  if (types === null) return '';
  const called = FIG_TYPES.flatMap((type, index) => {
    const count = types.called[index] as number;
    return count === 0 ? [] : [`${count} ${type}`];
  });
  if (called.length === 0 && types.open === 0) return dim('nothing seen yet that tells them');
  return [...called, ...(types.open > 0 ? [`${types.open} open`] : [])].join(', ');
}

/** Where only two types are expected, one of each sex, the test of sexes says the same once more. */
function testsToTell({ ratioTests }: CrossReport): RatioTest[] {
  const counted = (test: RatioTest) => sum(test.counts);
  return ratioTests.filter(
    (test, index) =>
      test.verdict !== 'none' &&
      !ratioTests
        .slice(0, index)
        .some((before) => counted(before) === counted(test) && atAll(before).length === atAll(test).length),
  );
}

/** Indices of what is expected at all. */
function atAll({ expected }: RatioTest): number[] {
  return expected.flatMap((share, index) => (share > 0 ? [index] : []));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

/** What was expected and whether it is so; then by which figures. */
function testInWords(test: RatioTest): string[] {
  const { of, counts, exactP, chiSquare, verdict } = test;
  const expected = atAll(test);
  const names = of === 'types' ? FIG_TYPES : ['female', 'caprifig'];
  const picked = (values: readonly (number | string)[]) => expected.map((index) => values[index]).join(' : ');
  const what = expected.length === FIG_TYPES.length ? '' : `${picked(names)} ${picked(counts)}, `;
  const ratio = `${what}expected ${ratioInWords(expected.map((index) => test.expected[index] as number))}`;
  if (verdict === 'too few') return [dim(`${ratio}: too few to contradict it`)];
  if (verdict === 'impossible') {
    return [
      yellow(`${ratio}: a type was called that this cross cannot give`),
      yellow("(a stray, exchanged tags, or a parent's type is wrong)"),
    ];
  }
  const figures = [
    ...(exactP === null ? [] : [`exact p ${pInWords(exactP)}`]),
    ...(chiSquare === null ? [] : [chiSquareInWords(chiSquare)]),
  ];
  const says = verdict === 'agrees' ? 'agrees' : yellow('does not agree');
  return [`${ratio}: ${says}`, ...(figures.length === 0 ? [] : [dim(figures.join('; '))])];
}

function chiSquareInWords({ chi2, df, p, leastExpected }: NonNullable<RatioTest['chiSquare']>): string {
  const figures = `${chi2.toFixed(2)}, ${df} df, p ${pInWords(p)}`;
  return leastExpected < LEAST_EXPECTED ? `too few for χ² (${figures})` : `χ² ${figures}`;
}

function keepersInWords({ keepers, tally }: CrossReport): string {
  if (keepers.of === 0) return dim('none had its chance yet');
  const young = tally.sown - keepers.of;
  return shareInWords(keepers, `that had their chance${young > 0 ? `; ${young} still to come` : ''}`);
}

function shareInWords({ hits, of, low, high }: Share, what: string): string {
  return `${hits} of ${of} ${what}: ${shareInPercent(hits / of)} (${shareInPercent(low)} to ${shareInPercent(high)})`;
}

function persistentFemaleInWords({ forPersistentFemale, pollenParent }: CrossTypes): string {
  if (forPersistentFemale !== null) {
    return `${forPersistentFemale} seedlings raised to fruit give a 95 % chance of one`;
  }
  const carries = pollenParent?.carriesPersistence ?? 0.5;
  return carries < 0.5
    ? 'none is to be expected: the pollen parent passes no persistence on'
    : dim('no number can be promised: it is not sure what the pollen parent passes on');
}

function moreInWords({ ifShareIsTrue, withUncertainty }: MoreSeedlings): string {
  const surely = withUncertainty === null ? 'over 100,000' : withUncertainty.toLocaleString('en-GB');
  const simply =
    ifShareIsTrue === null ? '' : ` (${ifShareIsTrue.toLocaleString('en-GB')} if that share were exact)`;
  return `${surely} more seedlings for a 95 % chance of a keeper${simply}`;
}

function firstFruitInWords({ firstFruit }: CrossReport): string {
  const { plants, fruited, median } = firstFruit;
  if (plants === 0) return dim('no sowing dates');
  const counts = `${fruited} of ${plants}`;
  if (fruited < LEAST_FRUITED) return `${counts} ${dim('so far: too few for a time')}`;
  if (median.time === null) return `${counts} so far: fewer than half, so there is no median yet`;
  const until = median.high === null ? 'on, no upper limit yet' : `to ${years(median.high)}`;
  return `${counts} so far; half by ${years(median.time)} years from sowing (${years(median.low ?? 0)} ${until})`;
}

function parentsInWords({ parents }: CrossesReport): string {
  const rows = parents
    .slice()
    .sort((a, b) => a.as.localeCompare(b.as) * -1 || b.sown - a.sown)
    .map((parent) => [
      parent.parent,
      dim(parent.as),
      `${counted(parent.crosses, 'cross', 'crosses')}, ${parent.sown} sown`,
      parent.keepers.of === 0 ? '' : `keepers ${parent.keepers.hits} of ${parent.keepers.of}`,
      meanInWords('liking', parent.liking, ''),
      meanInWords('brix', parent.brix, ' °Bx'),
    ]);
  return `${bold('Parents')}\n${columns(rows, '  ')}`;
}

function meanInWords(what: string, { plants, sum }: MeanOfPlants, unit: string): string {
  return plants === 0 ? '' : `${what} ${(sum / plants).toFixed(1)}${unit} (${plants})`;
}

function comparisonsInWords({ comparisons }: CrossesReport): string[] {
  return comparisons.map(({ crop, crosses, test }) => {
    const differ = test.p < 0.05 ? yellow('they differ') : 'no difference shown';
    const figures = `log-rank χ² ${test.chi2.toFixed(2)}, ${test.df} df, p ${pInWords(test.p)}`;
    return `${bold('Years to first fruit')}, ${crosses.length} crosses of ${crop} with five plants or more:\n  ${differ} (${figures})`;
  });
}

function notes({ crosses }: CrossesReport): string {
  const tested = crosses
    .flatMap(testsToTell)
    .filter(({ exactP, verdict }) => exactP !== null && verdict !== 'too few').length;
  const lines = [
    'Fruited counts fruit that is set or swelling too. A seedling had its chance once',
    'its fruit came to something (ripe, fallen, picked, tasted), it ended, or it was',
    'given a verdict.',
    'In brackets: 95 % intervals (shares by Wilson; medians by Kaplan–Meier with',
    'Greenwood, log(−log)). How many more seedlings counts those that die or never',
    'fruit too, and carries the uncertainty of the share.',
  ];
  if (crosses.some(({ types }) => types !== null)) {
    lines.push(
      'Trees that hold fruit are called sooner than those that drop it, so early counts',
      'lean to persistent ones.',
    );
  }
  if (tested > 1) lines.push(`Of ${tested} tests at p 0.05, one in twenty disagrees by chance alone.`);
  if (crosses.every(({ keepers }) => keepers.hits === 0)) {
    lines.push('No keeper is named yet: pottag scan ID --keep yes names one.');
  }
  return dim(lines.join('\n'));
}

function years(value: number): string {
  return value.toFixed(1);
}
