/**
 * When fruit was ripe: over the years by cross, and of each living seedling.
 */
import * as Plot from '@observablehq/plot';
import type { CrossesReport } from '../breeding/crosses.js';
import { CALLED_FROM } from '../breeding/judged-type.js';
import { counted, grouped } from '../wording.js';
import { leftToRight } from './cross-names.js';
import { MOST_DRAWN } from './crosses.js';
import { draw, GREY, INK, LEAF, LINE } from './draw.js';
import { dayOfYearInWords, MONTHS, monthName } from './figures.js';
import type { Garden, Ripening, Season } from './garden.js';
import { type Html, type HtmlPart, html, panel, panels, type Section, table } from './html.js';

const MOST_YEARS = 8;
/** Side by side in one plot. */
const YEARS_A_SEEDLING = 4;
const MOST_ROWS = 40;
const MOST_LISTED = 500;

interface CrossRipening {
  readonly cross: string;
  readonly ripenings: readonly Ripening[];
}

export function ripeningSection({ ripenings }: Garden, { crosses }: CrossesReport): Section {
  const caprifigs = new Set(
    crosses.flatMap(({ types }) =>
      types === null
        ? []
        : [...types.posteriors].flatMap(([id, [, , a, b]]) => (a + b >= CALLED_FROM ? [id] : [])),
    ),
  );
  const edible = ripenings.filter(({ id }) => !caprifigs.has(id));
  const left = ripenings.length - edible.length;
  const byCross = groupsOf(edible);
  const drawn = byCross.slice(0, MOST_DRAWN);
  const days = daysOf(drawn);
  const living = drawn
    .map(({ cross, ripenings: all }) => ({
      cross,
      ripenings: earliest(all.filter(({ hasEnded }) => !hasEnded)),
    }))
    .filter((each) => each.ripenings.length > 0);
  const rows = edible.slice().sort(byFirstDay);
  const body =
    edible.length === 0
      ? html`<p>No ripe fruit has been recorded on a seedling yet.</p>`
      : html`
<p>The first day on which each seedling was seen with ripe fruit of the main crop: a tick for each, a ring at the middle one, how many to the right. ${left > 0 ? `${counted(left, 'caprifig')} left out. ` : ''}${byCross.length > drawn.length ? `The ${drawn.length} crosses with the most ripe seedlings are drawn, of ${grouped(byCross.length)}.` : ''}</p>
${panels(drawn.map((each, index) => yearsPanel(each, days, index)))}
<h3>Each living seedling</h3>
<p>A bar runs from the first to the last day on which ripe fruit was seen in that year; a hollow one is the breba crop. The earliest stand on top.</p>
${panels(living.map((each, index) => seedlingsPanel(each, days, index)))}
${table('Table: first and last ripe fruit', ['ID', 'Cross', 'Year', 'Crop', 'First ripe', 'Last ripe', 'Now'], rows.slice(0, MOST_LISTED).flatMap(ripeRows), rows.length - MOST_LISTED)}`;
  return { id: 'ripening', title: 'Ripening calendar', plots: drawn.length + living.length, body };
}

/** The crosses with the most first. */
function groupsOf(ripenings: readonly Ripening[]): CrossRipening[] {
  const groups = new Map<string, Ripening[]>();
  for (const ripening of ripenings) {
    const group = groups.get(ripening.cross);
    if (group === undefined) groups.set(ripening.cross, [ripening]);
    else group.push(ripening);
  }
  return [...groups]
    .map(([cross, own]) => ({ cross, ripenings: own }))
    .sort((a, b) => b.ripenings.length - a.ripenings.length);
}

/** Whole months around all that is drawn. */
function daysOf(groups: readonly CrossRipening[]): [number, number] {
  let [first, last] = [366, 1];
  for (const { ripenings } of groups) {
    for (const { seasons } of ripenings) {
      for (const { firstDay, lastDay } of seasons) {
        first = Math.min(first, firstDay);
        last = Math.max(last, lastDay);
      }
    }
  }
  return [MONTHS.findLast((day) => day <= first) ?? 1, MONTHS.find((day) => day > last) ?? 366];
}

function monthsIn([first, last]: readonly [number, number]): number[] {
  return MONTHS.filter((day) => day >= first && day < last);
}

interface YearRow {
  readonly year: string;
  readonly days: readonly number[];
}

function yearRows(ripenings: readonly Ripening[]): YearRow[] {
  const years = new Map<number, number[]>();
  for (const { year, isBreba, firstDay } of ripenings.flatMap(({ seasons }) => seasons)) {
    if (isBreba) continue;
    const days = years.get(year);
    if (days === undefined) years.set(year, [firstDay]);
    else days.push(firstDay);
  }
  return [...years]
    .sort(([a], [b]) => a - b)
    .slice(-MOST_YEARS)
    .map(([year, days]) => ({ year: `${year}`, days: days.sort((a, b) => a - b) }));
}

/** Of an even number, the earlier of the two. */
function middle(days: readonly number[]): number {
  return days[Math.floor((days.length - 1) / 2)] ?? 0;
}

function yearsPanel(
  { cross, ripenings }: CrossRipening,
  days: readonly [number, number],
  index: number,
): Html {
  const rows = yearRows(ripenings);
  const ticks = rows.flatMap(({ year, days: own }) => [...new Set(own)].map((day) => ({ year, day })));
  const caption = {
    id: `ripe-years-${index + 1}`,
    title: `First ripe fruit of ${cross}`,
    description: rows
      .map(
        ({ year, days: own }) =>
          `${year}: ${counted(own.length, 'seedling')}, ${dayOfYearInWords(own[0] ?? 0)} to ${dayOfYearInWords(own.at(-1) ?? 0)}, the middle one ${dayOfYearInWords(middle(own))}`,
      )
      .join('. '),
  };
  const svg = draw(caption, {
    height: 30 + 24 * Math.max(1, rows.length),
    marginLeft: 40,
    marginRight: 30,
    marginTop: 22,
    marginBottom: 8,
    x: { domain: days, axis: null },
    y: { domain: rows.map(({ year }) => year), axis: null },
    marks: [
      ...monthAxis(days),
      Plot.axisY({ tickSize: 0, label: null, fill: INK }),
      Plot.tickX(ticks, {
        x: 'day',
        y: 'year',
        stroke: LEAF,
        strokeWidth: 1.25,
        insetTop: 4,
        insetBottom: 4,
      }),
      Plot.dot(rows, {
        x: ({ days: own }: YearRow) => middle(own),
        y: 'year',
        r: 4,
        fill: 'white',
        stroke: LEAF,
        strokeWidth: 2,
      }),
      Plot.text(rows, {
        frameAnchor: 'right',
        y: 'year',
        dx: 8,
        textAnchor: 'start',
        text: ({ days: own }: YearRow) => `${own.length}`,
        fill: INK,
      }),
    ],
  });
  const last = rows.at(-1);
  const says =
    last === undefined
      ? 'Only breba fruit was seen ripe.'
      : last.days.length < 2
        ? `In ${last.year} one seedling had ripe fruit, from ${dayOfYearInWords(middle(last.days))} on.`
        : `In ${last.year} half of ${last.days.length} seedlings had ripe fruit by ${dayOfYearInWords(middle(last.days))}.`;
  return panel(leftToRight(cross), svg, says);
}

function monthAxis(days: readonly [number, number]): Plot.Markish[] {
  const months = monthsIn(days);
  return [
    Plot.gridX([...months, days[1]], { stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75 }),
    Plot.axisX(months, {
      anchor: 'top',
      tickSize: 0,
      label: null,
      tickFormat: monthName,
      textAnchor: 'start',
      fill: GREY,
    }),
  ];
}

function byFirstDay(a: Ripening, b: Ripening): number {
  return usualDay(a) - usualDay(b);
}

function usualDay({ seasons }: Ripening): number {
  const main = seasons.filter(({ isBreba }) => !isBreba);
  return middle((main.length > 0 ? main : seasons).map(({ firstDay }) => firstDay).sort((a, b) => a - b));
}

function earliest(ripenings: readonly Ripening[]): Ripening[] {
  return ripenings.slice().sort(byFirstDay).slice(0, MOST_ROWS);
}

interface Bar extends Season {
  readonly id: string;
}

function seedlingsPanel(
  { cross, ripenings }: CrossRipening,
  days: readonly [number, number],
  index: number,
): Html {
  const years = [...new Set(ripenings.flatMap(({ seasons }) => seasons.map(({ year }) => year)))]
    .sort((a, b) => a - b)
    .slice(-YEARS_A_SEEDLING);
  const bars: Bar[] = ripenings.flatMap(({ id, seasons }) =>
    seasons.filter(({ year }) => years.includes(year)).map((season) => ({ id, ...season })),
  );
  const caption = {
    id: `ripe-seedlings-${index + 1}`,
    title: `Ripe fruit of each living seedling of ${cross}`,
    description: bars
      .map(
        ({ id, year, firstDay, lastDay }) =>
          `${id} ${year}: ${dayOfYearInWords(firstDay)} to ${dayOfYearInWords(lastDay)}`,
      )
      .join('. '),
  };
  const bar = {
    fx: 'year',
    y: 'id',
    // A single day is a bar, too.
    x1: ({ firstDay }: Bar) => firstDay - 0.75,
    x2: ({ lastDay }: Bar) => lastDay + 0.75,
    insetTop: 2.5,
    insetBottom: 2.5,
  };
  const months = monthsIn(days);
  const svg = draw(caption, {
    height: 42 + 14 * ripenings.length,
    marginLeft: 52,
    marginRight: 4,
    marginTop: 36,
    marginBottom: 6,
    fx: { domain: years, axis: null, padding: 0.08 },
    x: { domain: days, axis: null },
    y: { domain: ripenings.map(({ id }) => id), axis: null },
    marks: [
      Plot.gridX([...months, days[1]], { stroke: LINE, strokeOpacity: 1, strokeWidth: 0.5 }),
      Plot.axisX(months, {
        anchor: 'top',
        tickSize: 0,
        label: null,
        tickFormat: (day: number) => monthName(day).charAt(0),
        textAnchor: 'start',
        fill: GREY,
      }),
      Plot.gridY({ stroke: LINE, strokeOpacity: 1, strokeWidth: 0.5 }),
      Plot.axisFx({
        anchor: 'top',
        tickSize: 0,
        label: null,
        tickFormat: String,
        fill: INK,
        fontWeight: 600,
        dy: -14,
      }),
      Plot.axisY({ tickSize: 0, label: null, fill: INK }),
      Plot.barX(
        bars.filter(({ isBreba }) => !isBreba),
        { ...bar, fill: LEAF },
      ),
      Plot.barX(
        bars.filter(({ isBreba }) => isBreba),
        { ...bar, fill: 'white', stroke: LEAF },
      ),
    ],
  });
  const says =
    ripenings.length === MOST_ROWS
      ? `The earliest ${MOST_ROWS} only.`
      : counted(ripenings.length, 'seedling');
  return panel(leftToRight(cross), svg, says);
}

function ripeRows({ id, cross, hasEnded, seasons }: Ripening): HtmlPart[][] {
  return seasons.map(({ year, isBreba, firstDay, lastDay }) => [
    id,
    leftToRight(cross),
    `${year}`,
    isBreba ? 'breba' : 'main',
    dayOfYearInWords(firstDay),
    dayOfYearInWords(lastDay),
    hasEnded ? 'ended' : 'alive',
  ]);
}
