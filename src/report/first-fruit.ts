/**
 * How long seedlings wait for their first fruit: Kaplan and Meier's curve of each cross.
 */
import * as Plot from '@observablehq/plot';
import type { CrossesReport, CrossReport } from '../breeding/crosses.js';
import type { Step } from '../breeding/survival.js';
import { pInWords } from '../wording.js';
import { crossName, crossText } from './cross-names.js';
import { bySize, MOST_DRAWN, remark } from './crosses.js';
import { axisWords, BAND, draw, GREY, INK, LEAF, LINE, PLOT_WIDTH } from './draw.js';
import { intervalInWords, percent } from './figures.js';
import { type Html, type HtmlPart, html, panel, panels, type Section, table } from './html.js';

const MOST_LISTED = 60;

/** Fewer with fruit make no curve worth reading. */
const LEAST_FRUITED = 5;

export function firstFruitSection({ crosses, comparisons }: CrossesReport): Section {
  const dated = bySize(crosses).filter(({ firstFruit }) => firstFruit.plants > 0);
  const drawn = dated.slice(0, MOST_DRAWN);
  const years = Math.ceil(Math.max(1, ...drawn.map(longestWait)));
  const body =
    drawn.length === 0
      ? html`<p>No seedling has a sowing date, so there is no time to count from.</p>`
      : html`
<p>The share of seedlings still without fruit, by years from sowing. It falls a step whenever one bears for the first time; the shade is its 95\u00a0% band (Greenwood’s, on the log(−log) scale). A tick is a seedling that has waited so long and not fruited, or that ended before it did. Under each curve stands how many were still waiting at the start of each year, or – where none of the cross is that old yet.</p>
${remark(drawn.length, dated.length)}
${comparisons.map(comparisonInWords)}
${panels(drawn.map((cross, index) => curvePanel(cross, years, index)))}
${table('Table: seedlings still without fruit, at whole years from sowing', HEADINGS, dated.slice(0, MOST_LISTED).flatMap(yearRows), dated.length - MOST_LISTED)}`;
  return { id: 'first-fruit', title: 'Years to first fruit', plots: drawn.length, body };
}

function longestWait({ tally }: CrossReport): number {
  return tally.waiting.reduce((longest, { time }) => Math.max(longest, time), 0);
}

function comparisonInWords({ crop, crosses, test }: CrossesReport['comparisons'][number]): Html {
  const says = test.p < 0.05 ? html`<strong>differ</strong>` : 'show no difference';
  return html`<p>The ${crosses.length} crosses of ${crop} with five plants or more ${says} in it (log-rank χ² ${test.chi2.toFixed(2)}, ${test.df} df, p ${pInWords(test.p)}).</p>`;
}

interface Point {
  readonly years: number;
  readonly share: number;
  readonly low: number;
  readonly high: number;
}

/** The curve from sowing to the last that waits; a band that is not defined is the curve itself. */
function pointsOf({ tally, firstFruit }: CrossReport): Point[] {
  const points = firstFruit.steps.map(({ time, share, band }) => ({
    years: time,
    share,
    low: band?.low ?? share,
    high: band?.high ?? share,
  }));
  const start = { years: 0, share: 1, low: 1, high: 1 };
  const last = points.at(-1) ?? start;
  const end = tally.waiting.reduce((longest, { time }) => Math.max(longest, time), 0);
  return [start, ...points, { ...last, years: end }];
}

/** How it stands at a time: the last step up to then. */
function stepAt(steps: readonly Step[], years: number): Step | undefined {
  return steps.findLast(({ time }) => time <= years);
}

function shareAt(steps: readonly Step[], years: number): number {
  return stepAt(steps, years)?.share ?? 1;
}

/** More ticks than pixels cannot be told apart. */
function censored({ tally, firstFruit }: CrossReport, years: number): { years: number; share: number }[] {
  const places = new Set<number>();
  return tally.waiting.flatMap(({ time, happened }) => {
    const place = Math.round((time / years) * PLOT_WIDTH);
    if (happened || places.has(place)) return [];
    places.add(place);
    return [{ years: time, share: shareAt(firstFruit.steps, time) }];
  });
}

/** Null where some will fruit later still, but none of the cross has been watched for so long. */
function waitingAt({ tally, firstFruit }: CrossReport, years: number): number | null {
  const waiting = tally.waiting.filter(({ time }) => time >= years).length;
  return waiting === 0 && shareAt(firstFruit.steps, years) > 0 ? null : waiting;
}

function curvePanel(cross: CrossReport, lastYear: number, index: number): Html {
  const { steps, median, fruited } = cross.firstFruit;
  const points = pointsOf(cross);
  const whole = Array.from({ length: lastYear + 1 }, (_, year) => year).filter(
    (year) => lastYear <= 12 || year % Math.ceil(lastYear / 12) === 0,
  );
  const atRisk = whole.map((year) => ({ year, waiting: waitingAt(cross, year) }));
  const watched = atRisk.filter(({ waiting }) => waiting !== null);
  const half = median.time === null || fruited < LEAST_FRUITED ? [] : [{ years: median.time, share: 0.5 }];
  const caption = {
    id: `first-fruit-${index + 1}`,
    title: `Years to first fruit of ${crossText(cross.tally)}`,
    description: watched
      .slice(1)
      .map(
        ({ year, waiting }) =>
          `after ${year}: ${percent(shareAt(steps, year))} without fruit, ${waiting} still waiting`,
      )
      .join('. '),
  };
  const svg = draw(caption, {
    height: 236,
    marginLeft: 46,
    marginRight: 14,
    marginTop: 14,
    marginBottom: 66,
    x: { domain: [0, lastYear], axis: null },
    y: { domain: [0, 1], axis: null },
    marks: [
      Plot.gridY([0, 0.5, 1], { stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75 }),
      Plot.axisY([0, 0.5, 1], {
        tickSize: 0,
        label: null,
        tickFormat: (share: number) => `${share * 100} %`,
        fill: GREY,
      }),
      Plot.axisX(whole, {
        tickSize: 4,
        label: null,
        tickFormat: (year: number) => `${year}`,
        stroke: GREY,
        fill: GREY,
      }),
      Plot.areaY(points, { x: 'years', y1: 'low', y2: 'high', curve: 'step-after', fill: BAND }),
      Plot.lineY(points, { x: 'years', y: 'share', curve: 'step-after', stroke: LEAF, strokeWidth: 2 }),
      Plot.ruleX(censored(cross, lastYear), {
        x: 'years',
        y1: ({ share }: Point) => share - 0.035,
        y2: ({ share }: Point) => share + 0.035,
        stroke: INK,
        strokeWidth: 1,
      }),
      Plot.ruleX(half, { x: 'years', y1: 0, y2: 'share', stroke: INK, strokeDasharray: '2.5,2' }),
      Plot.dot(half, { x: 'years', y: 'share', r: 4, fill: 'white', stroke: INK, strokeWidth: 1.5 }),
      Plot.text(half, {
        x: 'years',
        y: 'share',
        text: ({ years }: Point) => `half by ${years.toFixed(1)}`,
        dy: -11,
        dx: 7,
        textAnchor: 'start',
        fill: INK,
        stroke: 'white',
        strokeWidth: 4,
      }),
      axisWords('years from sowing', { frameAnchor: 'bottom-right', dy: 31, textAnchor: 'end' }),
      axisWords('still waiting', { frameAnchor: 'bottom-left', dy: 42, dx: -46, textAnchor: 'start' }),
      Plot.text(atRisk, {
        x: 'year',
        y: () => 0,
        dy: 54,
        text: ({ waiting }: (typeof atRisk)[number]) => `${waiting ?? '–'}`,
        fill: INK,
      }),
    ],
  });
  return panel(crossName(cross.tally), svg, firstFruitInWords(cross));
}

function firstFruitInWords({ firstFruit }: CrossReport): HtmlPart {
  const { plants, fruited, median } = firstFruit;
  const counts = `${fruited} of ${plants} have fruited`;
  if (fruited < LEAST_FRUITED) return `${counts}: too few to conclude anything.`;
  if (median.time === null) return `${counts}: fewer than half, so there is no median yet.`;
  const until = median.high === null ? 'with no upper limit yet' : `to ${median.high.toFixed(1)}`;
  return `${counts}; half by ${median.time.toFixed(1)} years from sowing (95\u00a0%: ${(median.low ?? 0).toFixed(1)} ${until}).`;
}

const HEADINGS = ['Cross', 'Years', 'Without fruit', '95\u00a0% band', 'Still waiting'];

function yearRows(cross: CrossReport): HtmlPart[][] {
  const years = Math.floor(longestWait(cross));
  return Array.from({ length: years }, (_, index) => {
    const step = stepAt(cross.firstFruit.steps, index + 1);
    return [
      crossName(cross.tally),
      index + 1,
      percent(step?.share ?? 1),
      step?.band == null ? '' : intervalInWords(step.band.low, step.band.high),
      waitingAt(cross, index + 1),
    ];
  });
}
