/**
 * What each cross gave: the types of its figs against what was expected, and the shares of persistent females
 * and of keepers.
 */
import * as Plot from '@observablehq/plot';
import type { CrossesReport, CrossReport, RatioTest, Share } from '../breeding/crosses.js';
import { wilson } from '../breeding/proportion.js';
import type { MeanOfPlants } from '../breeding/survey.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';
import { draw, GREY, INK, LEAF, LINE } from './draw.js';
import {
  counted,
  grouped,
  intervalInWords,
  percent,
  probability,
  ratioInWords,
  shareInWords,
} from './figures.js';
import { type Html, type HtmlPart, html, listed, name, panel, panels, type Section, table } from './html.js';

/** So many crosses are drawn, those with the most seedlings; a page of more is not read. */
export const MOST_DRAWN = 12;
const MOST_LISTED = 200;

/** Expected counts below this make χ² unsure (Cochran 1954). */
const LEAST_EXPECTED = 5;

export function crossesSection({ crosses, parents }: CrossesReport): Section {
  const largest = bySize(crosses);
  const drawn = largest.slice(0, MOST_DRAWN);
  const typed = drawn.filter(hasTypesSeen);
  const untyped = drawn.filter((cross) => cross.types !== null && !hasTypesSeen(cross));
  const shares = shareplots(drawn);
  const body = html`
<p>How often each outcome was seen, with its 95 % interval: where an interval is wide, more fruit has to be seen before it says much. Only seedlings whose type is called (0.95 or more likely) are counted. Trees that hold fruit are called sooner than those that drop it, so early counts lean to persistent ones.</p>
${remark(drawn.length, crosses.length)}
${panels(typed.map((cross, index) => typesPanel(cross, index)))}
${untyped.length === 0 ? null : html`<p>No type is called yet in ${listed(untyped.map(crossName))}.</p>`}
${panels(shares)}
${table('Table: seedlings and types of each cross', TYPE_HEADINGS, largest.slice(0, MOST_LISTED).map(typesRow), crosses.length - MOST_LISTED)}
${table('Table: keepers of each cross', KEEPER_HEADINGS, largest.slice(0, MOST_LISTED).map(keepersRow), crosses.length - MOST_LISTED)}
${table('Table: what each parent gave', PARENT_HEADINGS, parents.slice(0, MOST_LISTED).map(parentRow), parents.length - MOST_LISTED)}`;
  return { id: 'crosses', title: 'Crosses', plots: typed.length + shares.length, body };
}

export function crossName({ cross }: CrossReport): Html {
  return cross === null ? html`parents not known` : name(cross);
}

/** Those with the most seedlings first. */
export function bySize(crosses: readonly CrossReport[]): CrossReport[] {
  return crosses.slice().sort((a, b) => b.tally.sown - a.tally.sown);
}

export function remark(drawn: number, all: number): HtmlPart {
  return drawn === all
    ? null
    : html`<p>The ${drawn} crosses with the most seedlings are drawn, of ${grouped(all)}.</p>`;
}

function hasTypesSeen({ types }: CrossReport): boolean {
  return types?.called.some((count) => count > 0) ?? false;
}

interface Outcome {
  readonly name: string;
  readonly count: number;
  readonly of: number;
  readonly low: number;
  readonly high: number;
  readonly expected: number | null;
}

function outcomes({ types }: CrossReport): Outcome[] {
  if (types === null) return [];
  const called = types.called.reduce((sum, count) => sum + count, 0);
  const sexes = types.females + types.caprifigs;
  const outcome = (label: string, count: number, of: number, expected: number | null) => ({
    name: label,
    count,
    of,
    ...wilson(count, of),
    expected,
  });
  return [
    ...FIG_TYPES.map((type, index) =>
      outcome(type, types.called[index] as number, called, types.expected.types?.[index] ?? null),
    ),
    ...(sexes === 0
      ? []
      : [
          outcome('all females', types.females, sexes, types.expected.female),
          outcome('all caprifigs', types.caprifigs, sexes, 1 - types.expected.female),
        ]),
  ];
}

function typesPanel(cross: CrossReport, index: number): Html {
  const rows = outcomes(cross);
  const [first] = rows.filter(({ expected }) => expected !== null);
  const caption = {
    id: `types-${index + 1}`,
    title: `Types of ${cross.cross ?? 'seedlings of unknown parents'}`,
    description: rows
      .map(
        ({ name: type, count, of, low, high, expected }) =>
          `${type}: ${count} of ${of}, ${intervalInWords(low, high)}${expected === null ? '' : `, expected ${percent(expected)}`}`,
      )
      .join('. '),
  };
  const svg = draw(caption, {
    height: 40 + 24 * (rows.length + 1),
    marginLeft: 122,
    marginRight: 58,
    marginTop: 20,
    marginBottom: 30,
    x: { domain: [0, 1], axis: null },
    y: { domain: [...FIG_TYPES, ' ', 'all females', 'all caprifigs'].slice(0, rows.length + 1), axis: null },
    marks: [
      ...percentAxis(1),
      Plot.axisY({ tickSize: 0, label: null, fill: INK }),
      ...intervals(rows),
      Plot.tickX(
        rows.filter(({ expected }) => expected !== null),
        {
          x: 'expected',
          y: 'name',
          stroke: INK,
          strokeWidth: 1.5,
          strokeDasharray: '2.5,2',
          insetTop: 1,
          insetBottom: 1,
        },
      ),
      ...(first === undefined
        ? []
        : [
            Plot.text([first], {
              x: 'expected',
              y: 'name',
              text: () => 'expected',
              dy: -17,
              fill: GREY,
              textAnchor: (first.expected ?? 0) < 0.1 ? 'start' : 'middle',
            }),
          ]),
    ],
  });
  return panel(crossName(cross), svg, typesInWords(cross));
}

const AXIS_ENDS = [0.2, 0.4, 0.6, 0.8, 1];

function percentAxis(most: number): Plot.Markish[] {
  const ticks = [0, 0.25, 0.5, 0.75, 1].map((part) => part * most);
  return [
    Plot.gridX(ticks, { stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75 }),
    Plot.axisX(ticks, {
      tickSize: 0,
      label: null,
      tickFormat: (share: number) => `${Math.round(share * 100)}${share === most ? ' %' : ''}`,
      fill: GREY,
    }),
  ];
}

/** A dot at the share seen, a line for its interval, the counts to the right. */
function intervals(rows: readonly Outcome[]): Plot.Markish[] {
  const seen = rows.filter(({ of }) => of > 0);
  return [
    Plot.ruleY(seen, { x1: 'low', x2: 'high', y: 'name', stroke: LEAF, strokeWidth: 2 }),
    Plot.dot(seen, {
      x: ({ count, of }: Outcome) => count / of,
      y: 'name',
      r: 4.5,
      fill: LEAF,
      stroke: 'white',
    }),
    Plot.text(rows, {
      frameAnchor: 'right',
      y: 'name',
      dx: 8,
      textAnchor: 'start',
      text: ({ count, of }: Outcome) => (of === 0 ? 'none yet' : `${count} of ${of}`),
      fill: INK,
    }),
  ];
}

function typesInWords(cross: CrossReport): HtmlPart {
  const { types, ratioTests, tally } = cross;
  if (types === null) return null;
  const called = types.called.reduce((sum, count) => sum + count, 0);
  const doubled = types.pollenParent?.isMaleTwice ?? 0;
  return html`Of ${counted(called + types.open, 'fig')} that showed something, ${called} ${called === 1 ? 'is' : 'are'} called and ${types.open} open. ${ratioTests.map(testInWords)}${
    doubled >= 0.5 && tally.pollenParent !== null
      ? html`<strong>${name(tally.pollenParent)} probably has the male factor twice</strong> (${percent(doubled)}): then all its seedlings are caprifigs. `
      : null
  }${types.expected.types === null ? 'What to expect of persistence is not known: the pollen parent’s type is not sure. ' : null}`;
}

function testInWords({ of, counts, expected, exactP, chiSquare, verdict }: RatioTest): HtmlPart {
  const what = of === 'types' ? 'The types' : 'Females to caprifigs';
  const against = `${what}, ${counts.join(' : ')}, against ${ratioInWords(expected)} expected`;
  switch (verdict) {
    case 'none':
      return null;
    case 'too few':
      return html`${against}: too few to conclude anything. `;
    case 'impossible':
      return html`${against}: <strong>a type was called that this cross cannot give</strong> (a stray, exchanged tags, or a parent’s type is wrong). `;
    case 'agrees':
      return html`${against}: agrees (${pInWords(exactP, chiSquare)}). `;
    case 'contradicts':
      return html`${against}: <strong>does not agree</strong> (${pInWords(exactP, chiSquare)}). `;
  }
}

function pInWords(exactP: number | null, chiSquare: RatioTest['chiSquare']): string {
  if (exactP !== null) return `exact p ${probability(exactP)}`;
  if (chiSquare === null) return 'no test';
  const unsure = chiSquare.leastExpected < LEAST_EXPECTED ? ', unsure with such small counts' : '';
  return `χ² ${chiSquare.chi2.toFixed(2)}, ${chiSquare.df} df, p ${probability(chiSquare.p)}${unsure}`;
}

function shareplots(drawn: readonly CrossReport[]): Html[] {
  const hasFigs = drawn.some(({ types }) => types !== null);
  const kinds = [
    ...(hasFigs
      ? [
          {
            id: 'share-persistent-females',
            heading: 'Share of persistent females',
            says: 'Of the figs whose type is called. Only the persistent female feeds a grower without fig wasps.',
            shareOf: ({ persistentFemales }: CrossReport) => persistentFemales,
          },
        ]
      : []),
    {
      id: 'share-keepers',
      heading: 'Share of keepers',
      says: 'Of the seedlings that had their chance: fruit that came to something, an end, or a verdict. Young crosses have had little chance yet.',
      shareOf: ({ keepers }: CrossReport) => keepers,
    },
  ];
  return kinds.flatMap(({ id, heading, says, shareOf }) => {
    const rows = drawn.flatMap((cross) => {
      const share = shareOf(cross);
      return share === null ? [] : [{ label: cross.cross ?? 'parents not known', share }];
    });
    return rows.length === 0 ? [] : [panel(heading, shareplot(id, heading, rows), says)];
  });
}

function shareplot(id: string, title: string, shares: readonly { label: string; share: Share }[]): Html {
  // Crosses of two crops may have one name; rows are told apart by their number.
  const rows = shares.map(({ label, share }, index) => ({
    ...share,
    name: `${index}`,
    label,
    count: share.hits,
    expected: null,
  }));
  const highest = Math.max(0, ...rows.flatMap(({ of, high }) => (of > 0 ? [high] : [])));
  const most = AXIS_ENDS.find((end) => end >= highest) ?? 1;
  const description = rows.map(({ label, ...share }) => `${label}: ${shareInWords(share)}`).join('. ');
  return draw(
    { id, title, description },
    {
      height: 34 + 38 * rows.length,
      marginLeft: 8,
      marginRight: 64,
      marginTop: 8,
      marginBottom: 26,
      x: { domain: [0, most], axis: null },
      y: { domain: rows.map((row) => row.name), axis: null },
      marks: [
        ...percentAxis(most),
        Plot.text(rows, {
          frameAnchor: 'left',
          y: 'name',
          dy: -15,
          textAnchor: 'start',
          text: 'label',
          lineWidth: 28,
          textOverflow: 'ellipsis',
          fill: INK,
          stroke: 'white',
          strokeWidth: 4,
        }),
        ...intervals(rows),
      ],
    },
  );
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
  const noted = tally.germinated + tally.notGerminated;
  return [
    crossName(cross),
    tally.sown,
    noted === 0 ? 'not noted' : `${tally.germinated} of ${noted}`,
    tally.alive,
    tally.fruited,
    ...FIG_TYPES.map((_, index) => types?.called[index] ?? ''),
    types?.open ?? '',
    test === undefined ? '' : `${ratioInWords(test.expected)}${test.of === 'sex' ? ' (sexes)' : ''}`,
    test === undefined || test.exactP === null ? '' : probability(test.exactP),
    test?.chiSquare == null ? '' : test.chiSquare.chi2.toFixed(2),
  ];
}

const KEEPER_HEADINGS = [
  'Cross',
  'Keepers',
  'Persistent females of those called',
  'More seedlings for a 95 % chance of a keeper',
  'The same, if the share seen were exact',
  'Liking (plants)',
  'Brix (plants)',
];

function keepersRow(cross: CrossReport): HtmlPart[] {
  const { keepers, persistentFemales, moreKeepers, tally } = cross;
  return [
    crossName(cross),
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
