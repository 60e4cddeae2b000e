/**
 * The garden from above: each bench, each pot in its place, what state it is in.
 */

import * as Plot from '@observablehq/plot';
import type { NamedKeeper } from '../breeding/keepers.js';
import type { LedgerReader } from '../ledger/ledger.js';
import { counted, grouped } from '../wording.js';
import { type Bench, benchesOf, firstOf, type Spot } from './benches.js';
import { draw, FULL, GONE, GREY, INK, KEPT, LEAF, LINE } from './draw.js';

import type { Garden } from './garden.js';
import { type Html, type HtmlPart, html, name, type Section, table } from './html.js';

/** More do not fit on pages that anyone leafs through. */
const MOST_DRAWN = 1000;
const MOST_BENCHES = 300;

type State = 'keeper' | 'fruited' | 'alive' | 'ended';

interface Cell {
  readonly spot: Spot;
  readonly state: State;
  readonly lacksTag: boolean;
}

export async function benchSection(
  ledger: LedgerReader,
  { pots }: Garden,
  named: readonly NamedKeeper[],
): Promise<Section> {
  const benches = benchesOf(pots);
  const drawn = firstOf(benches, MOST_DRAWN);
  const spots = drawn.flatMap(({ lines }) => lines.flatMap((line) => line.spots));
  const tags = await ledger.lastTags(spots.map(({ pot }) => pot.id));
  const keepers = new Set(named.map(({ plant }) => plant.id));
  const cellOf = (spot: Spot): Cell => ({
    spot,
    state: stateOf(spot, keepers.has(spot.pot.id)),
    lacksTag: !spot.pot.hasEnded && tags.get(spot.pot.id)?.status !== 'current',
  });
  const all = benches.reduce((sum, bench) => sum + sizeOf(bench), 0);
  const body =
    benches.length === 0
      ? html`<p>No plant has a station yet. A column <code>station</code> in the CSV, or a walk, says where plants stand.</p>`
      : html`
<p>Each pot in its place, as the ledger knows it. ${KEY}</p>
${spots.length < all ? html`<p>The first ${counted(spots.length, 'station')} are drawn, of ${grouped(all)}; the last table counts all benches.</p>` : null}
<div class="benches">${drawn.map((bench, index) => benchPlot(bench, cellOf, index))}</div>
${table('Table: pots and their stations', ['Station', 'ID', 'State', 'Tag', 'Also there'], spots.map(cellOf).map(cellRow))}
${table('Table: benches', ['Bench', 'Stations', 'Alive', 'Fruited', 'Ended'], benches.slice(0, MOST_BENCHES).map(benchRow), benches.length - MOST_BENCHES)}`;
  return { id: 'benches', title: 'Benches', plots: drawn.length, body };
}

const KEY = html`<span class="key">${KEPT} keeper</span> <span class="key">${FULL} has fruited</span> <span class="key">no mark: alive, no fruit yet</span> <span class="key">${GONE} ended, in grey</span> <span class="key">dashed, <i>no tag</i>: needs a tag</span>`;

function sizeOf({ lines }: Bench): number {
  return lines.reduce((sum, { spots }) => sum + spots.length, 0);
}

function stateOf({ pot }: Spot, isKeeper: boolean): State {
  if (pot.hasEnded) return 'ended';
  if (isKeeper) return 'keeper';
  return pot.hasFruited ? 'fruited' : 'alive';
}

const CELL = { width: 54, height: 36 };
const MARGIN = { left: 54, right: 4, top: 22, bottom: 4 };

interface Drawn extends Cell {
  readonly line: number;
  readonly column: number;
}

function benchPlot(bench: Bench, cellOf: (spot: Spot) => Cell, index: number): Html {
  const isGrid = isAligned(bench);
  const columns = isGrid
    ? [...new Set(bench.lines.flatMap(({ spots }) => spots.map(({ place }) => place ?? 0)))].sort(
        (a, b) => a - b,
      )
    : Array.from({ length: Math.max(...bench.lines.map(({ spots }) => spots.length)) }, (_, place) => place);
  const cells: Drawn[] = bench.lines.flatMap(({ spots }, line) =>
    spots.map((spot, place) => ({ ...cellOf(spot), line, column: isGrid ? (spot.place ?? 0) : place })),
  );
  const columnName = (column: number) => placeName(cells.find((cell) => cell.column === column)?.spot);
  const title = bench.name === '' ? 'Other places' : bench.name;
  const caption = { id: `bench-${index + 1}`, title: `Map of ${title}`, description: countsInWords(cells) };
  const at = { x: 'column', y: 'line' } as const;
  const svg = draw(caption, {
    width: MARGIN.left + CELL.width * columns.length + MARGIN.right,
    height: MARGIN.top + CELL.height * bench.lines.length + MARGIN.bottom,
    marginLeft: MARGIN.left,
    marginRight: MARGIN.right,
    marginTop: MARGIN.top,
    marginBottom: MARGIN.bottom,
    x: { type: 'band', domain: columns, axis: null, padding: 0 },
    y: { type: 'band', domain: bench.lines.map((_, line) => line), axis: null, padding: 0 },
    marks: [
      ...(isGrid
        ? [Plot.axisX({ anchor: 'top', tickSize: 0, label: null, tickFormat: columnName, fill: GREY })]
        : []),
      Plot.axisY({
        tickSize: 0,
        label: null,
        fill: GREY,
        tickFormat: (line: number) => rowName(bench, line),
        lineWidth: 4.5,
        textOverflow: 'ellipsis-start',
      }),
      Plot.cell(
        cells.filter(({ lacksTag }) => !lacksTag),
        { ...at, inset: 1.5, fill: 'none', stroke: LINE },
      ),
      Plot.cell(
        cells.filter(({ lacksTag }) => lacksTag),
        { ...at, inset: 1.5, fill: 'none', stroke: INK, strokeDasharray: '3,2' },
      ),
      Plot.text(cells, {
        ...at,
        dy: -7,
        text: ({ spot }: Drawn) => spot.pot.id,
        fill: ({ state }: Drawn) => (state === 'ended' ? GREY : INK),
        fontWeight: 600,
      }),
      ...[true, false].flatMap((lacksTag) => {
        const marked = cells.filter((cell) => cell.lacksTag === lacksTag);
        // Beside `no tag` there is room to the left only.
        const place = { ...at, dy: 8, dx: lacksTag ? -18 : 0 };
        const inState = (state: State) => marked.filter((cell) => cell.state === state);
        return [
          Plot.dot(inState('keeper'), { ...place, symbol: 'star', r: 4.5, fill: LEAF }),
          Plot.dot(inState('fruited'), { ...place, r: 3.5, fill: LEAF }),
          Plot.dot(inState('ended'), { ...place, symbol: 'times', r: 3.5, stroke: GREY, strokeWidth: 1.5 }),
          ...(lacksTag
            ? [
                Plot.text(
                  marked.filter(({ spot }) => spot.others.length === 0),
                  {
                    ...at,
                    dy: 9,
                    dx: 5,
                    text: () => 'no tag',
                    fill: INK,
                    fontStyle: 'italic',
                  },
                ),
              ]
            : []),
        ];
      }),
      Plot.text(
        cells.filter(({ spot }) => spot.others.length > 0),
        { ...at, dy: 9, dx: 14, text: ({ spot }: Drawn) => `+${spot.others.length}`, fill: INK },
      ),
    ],
  });
  return html`<figure class="bench"><figcaption><h3>${name(title)}</h3><p>${countsInWords(cells)}</p></figcaption><div class="scroll" role="region" aria-label="${`Map of ${title}`}" tabindex="0">${svg}</div></figure>`;
}

/** A bench whose places line up in columns; otherwise pots stand one after the other. */
function isAligned({ lines }: Bench): boolean {
  const names = new Set(lines.map((line) => line.name));
  const places = new Set(lines.flatMap(({ spots }) => spots.map(({ place }) => place)));
  return names.size === lines.length && places.size <= 12 && !places.has(null);
}

/** The last number or letter of its station's name, as it is written: `A` of `yard A`. */
function placeName(spot: Spot | undefined): string {
  return spot?.station.match(/(?<!\p{L})\p{L}(?!\p{L})|\p{N}+/gu)?.at(-1) ?? '';
}

/** What the row's name adds to its bench's. */
function rowName({ name: bench, lines }: Bench, line: number): string {
  const row = lines[line]?.name ?? '';
  const own = row.startsWith(bench) ? row.slice(bench.length).replace(/^[^\p{L}\p{N}]+/u, '') : row;
  return own;
}

function countsInWords(cells: readonly Cell[]): string {
  const count = (state: State) => cells.filter((cell) => cell.state === state).length;
  const untagged = cells.filter(({ lacksTag }) => lacksTag).length;
  const fruited = cells.filter(({ spot: { pot } }) => pot.hasFruited && !pot.hasEnded).length;
  const parts = [
    `${cells.length - count('ended')} alive`,
    `${fruited === 0 ? 'none' : fruited} of them ${fruited > 1 ? 'have' : 'has'} fruited`,
    ...(count('keeper') > 0 ? [counted(count('keeper'), 'keeper')] : []),
    ...(count('ended') > 0 ? [`${count('ended')} ended`] : []),
    ...(untagged > 0 ? [`${untagged} without a tag`] : []),
  ];
  return `${parts.join(', ')}.`;
}

function cellRow({ spot, state, lacksTag }: Cell): HtmlPart[] {
  const { station, pot, others } = spot;
  return [
    name(station),
    pot.id,
    state === 'alive' ? 'alive, no fruit yet' : state === 'fruited' ? 'has fruited' : state,
    lacksTag ? 'no tag' : '',
    others.map(({ id }) => id).join(', '),
  ];
}

function benchRow(bench: Bench): HtmlPart[] {
  const pots = bench.lines.flatMap(({ spots }) => spots.flatMap(({ pot, others }) => [pot, ...others]));
  const living = pots.filter(({ hasEnded }) => !hasEnded);
  return [
    name(bench.name === '' ? 'Other places' : bench.name),
    grouped(sizeOf(bench)),
    living.length,
    living.filter(({ hasFruited }) => hasFruited).length,
    pots.length - living.length,
  ];
}
