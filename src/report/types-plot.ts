/**
 * The types of a cross of figs against what was expected of it.
 */
import * as Plot from '@observablehq/plot';
import type { CrossReport, RatioTest } from '../breeding/crosses.js';
import { wilson } from '../breeding/proportion.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';
import { counted, pInWords, ratioInWords } from '../wording.js';
import { crossName, crossText } from './cross-names.js';
import { draw, GREY, INK } from './draw.js';
import { intervalInWords, percent } from './figures.js';
import { type Html, type HtmlPart, html, name, panel } from './html.js';
import { intervals, percentAxis, type SeenShare } from './share-plots.js';

/** Expected counts below this make χ² unsure (Cochran 1954). */
const LEAST_EXPECTED = 5;

interface Outcome extends SeenShare {
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

export function typesPanel(cross: CrossReport, index: number): Html {
  const rows = outcomes(cross);
  const [first] = rows.filter(({ expected }) => expected !== null);
  const caption = {
    id: `types-${index + 1}`,
    title: `Types of ${crossText(cross.tally)}`,
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
  return panel(crossName(cross.tally), svg, typesInWords(cross));
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
      return html`${against}: agrees (${figuresOfTest(exactP, chiSquare)}). `;
    case 'contradicts':
      return html`${against}: <strong>does not agree</strong> (${figuresOfTest(exactP, chiSquare)}). `;
  }
}

function figuresOfTest(exactP: number | null, chiSquare: RatioTest['chiSquare']): string {
  if (exactP !== null) return `exact p ${pInWords(exactP)}`;
  if (chiSquare === null) return 'no test';
  const unsure = chiSquare.leastExpected < LEAST_EXPECTED ? ', unsure with such small counts' : '';
  return `χ² ${chiSquare.chi2.toFixed(2)}, ${chiSquare.df} df, p ${pInWords(chiSquare.p)}${unsure}`;
}
