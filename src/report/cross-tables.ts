/**
 * What each cross and each parent gave, as tables.
 */
import type { CrossesReport, CrossReport } from '../breeding/crosses.js';
import type { MeanOfPlants } from '../breeding/survey.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';
import { grouped, pInWords, ratioInWords } from '../wording.js';
import { crossName } from './cross-names.js';
import { shareInWords } from './figures.js';
import { type Html, type HtmlPart, name, table } from './html.js';

const MOST_LISTED = 200;

export function crossTables(crosses: readonly CrossReport[], parents: CrossesReport['parents']): Html[] {
  const listed = crosses.slice(0, MOST_LISTED);
  const left = crosses.length - MOST_LISTED;
  return [
    table('Table: seedlings and types of each cross', TYPE_HEADINGS, listed.map(typesRow), left),
    table('Table: keepers of each cross', KEEPER_HEADINGS, listed.map(keepersRow), left),
    table(
      'Table: what each parent gave',
      PARENT_HEADINGS,
      parents.slice(0, MOST_LISTED).map(parentRow),
      parents.length - MOST_LISTED,
    ),
  ];
}

const TYPE_HEADINGS = [
  'Cross',
  'Sown',
  'Came up',
  'Alive',
  'Fruited',
  ...FIG_TYPES.map((type) => `${type.charAt(0).toUpperCase()}${type.slice(1)}`),
  'Open',
  'Expected',
  'Exact p',
  'χ²',
];

function typesRow(cross: CrossReport): HtmlPart[] {
  const { tally, types, ratioTests } = cross;
  const test = ratioTests.find(({ of }) => of === 'types') ?? ratioTests[0];
  const tested = test?.verdict === 'none' ? undefined : test; // Nothing is called: its p says nothing.
  const noted = tally.germinated + tally.notGerminated;
  return [
    crossName(cross.tally),
    tally.sown,
    noted === 0 ? 'not noted' : `${tally.germinated} of ${noted}`,
    tally.alive,
    tally.fruited,
    ...FIG_TYPES.map((_, index) => types?.called[index] ?? ''),
    types?.open ?? '',
    test === undefined ? '' : `${ratioInWords(test.expected)}${test.of === 'sex' ? ' (sexes)' : ''}`,
    tested === undefined || tested.exactP === null ? '' : pInWords(tested.exactP),
    tested?.chiSquare == null ? '' : tested.chiSquare.chi2.toFixed(2),
  ];
}

const KEEPER_HEADINGS = [
  'Cross',
  'Keepers',
  'Persistent females of those called',
  'More seedlings for a 95\u00a0% chance of a keeper',
  'The same, if the share seen were exact',
  'Liking (plants)',
  'Brix (plants)',
];

function keepersRow(cross: CrossReport): HtmlPart[] {
  const { keepers, persistentFemales, moreKeepers, tally } = cross;
  return [
    crossName(cross.tally),
    shareInWords(keepers),
    persistentFemales === null ? '' : shareInWords(persistentFemales),
    keepers.hits === 0 ? 'no keeper yet' : many(moreKeepers.withUncertainty),
    keepers.hits === 0 ? '' : many(moreKeepers.ifShareIsTrue),
    meanInWords(tally.liking, ''),
    meanInWords(tally.brix, ' °Bx'),
  ];
}

function many(count: number | null): string {
  return count === null ? 'over 100,000' : grouped(count);
}

function meanInWords({ plants, sum }: MeanOfPlants, unit: string): string {
  return plants === 0 ? '' : `${(sum / plants).toFixed(1)}${unit} (${plants})`;
}

const PARENT_HEADINGS = [
  'Parent',
  'As',
  'Crosses',
  'Sown',
  'Fruited',
  'Keepers',
  'Liking (plants)',
  'Brix (plants)',
];

function parentRow({
  parent,
  as,
  crosses,
  sown,
  fruited,
  keepers,
  liking,
  brix,
}: CrossesReport['parents'][number]): HtmlPart[] {
  return [
    name(parent),
    as,
    crosses,
    sown,
    fruited,
    shareInWords(keepers),
    meanInWords(liking, ''),
    meanInWords(brix, ' °Bx'),
  ];
}
