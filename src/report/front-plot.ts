/**
 * The two criteria that weigh most against each other, and who is outdone by none.
 */
import * as Plot from '@observablehq/plot';
import type { CropKeepers, FittedCriterion, RankedSeedling } from '../breeding/keepers.js';
import { axisName, valueInWords } from './criteria.js';
import { axisWords, draw, FULL, GREY, HOLLOW, INK, KEPT, LEAF, LINE, PLOT_WIDTH } from './draw.js';
import { type Html, html, panel } from './html.js';
import { placeLabels } from './labels.js';

export interface Weighed {
  readonly fitted: FittedCriterion;
  readonly place: number;
}

interface Spot {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  readonly isFront: boolean;
  readonly isKeeper: boolean;
}

const HEIGHT = 330;
const MARGIN = { left: 44, right: 14, top: 26, bottom: 38 };

/** The two criteria that weigh most. */
export function frontPanel(
  crop: CropKeepers,
  first: Weighed,
  second: Weighed,
  of: string,
  index: number,
): Html {
  const isMeasured = ({ estimates }: RankedSeedling) =>
    [first, second].some(({ place }) => (estimates[place]?.measurements ?? 0) > 0);
  const spots = crop.ranking.filter(isMeasured).map(
    ({ plant, estimates, outdoneBy, keep }): Spot => ({
      id: plant.id,
      x: estimates[first.place]?.value ?? 0,
      y: estimates[second.place]?.value ?? 0,
      isFront: outdoneBy === null,
      isKeeper: keep === 'yes',
    }),
  );
  const named = spots.filter(({ isFront, isKeeper }) => isFront || isKeeper);
  const range = (of: 'x' | 'y', { criterion }: FittedCriterion): [number, number] => {
    const values = spots.map((spot) => spot[of]);
    const [low, high] = [Math.min(...values), Math.max(...values)];
    // Numbers on the axis are rounded: a narrower one would repeat them.
    const room = Math.max((high - low) * 0.09, criterion.name === 'held' ? 0.05 : 0.5);
    return [low - room, high + room];
  };
  const [xs, ys] = [range('x', first.fitted), range('y', second.fitted)];
  const pixels = ({ x, y }: Spot) => ({
    x: pixel(x, xs, PLOT_WIDTH - MARGIN.left - MARGIN.right),
    y: -pixel(y, ys, HEIGHT - MARGIN.top - MARGIN.bottom),
  });
  const labels = placeLabels(
    named.map((spot) => ({ spot, ...pixels(spot), width: spot.id.length * CHARACTER_WIDTH })),
    spots.filter((spot) => !named.includes(spot)).map(pixels),
  );
  const caption = {
    id: `front-${index + 1}`,
    title: `${axisName(first.fitted)} and ${axisName(second.fitted)} of the seedlings${of}`,
    description: named
      .map(({ id, x, y }) => `${id}: ${valueInWords(first.fitted, x)} and ${valueInWords(second.fitted, y)}`)
      .join('. '),
  };
  const svg = draw(caption, {
    height: HEIGHT,
    marginLeft: MARGIN.left,
    marginRight: MARGIN.right,
    marginTop: MARGIN.top,
    marginBottom: MARGIN.bottom,
    x: { domain: xs, axis: null },
    y: { domain: ys, axis: null },
    marks: [
      Plot.gridX({ stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75, ticks: 5 }),
      Plot.gridY({ stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75, ticks: 5 }),
      Plot.axisX({
        ticks: 5,
        tickSize: 0,
        label: null,
        fill: GREY,
        tickFormat: (value: number) => valueInWords(first.fitted, value),
      }),
      Plot.axisY({
        ticks: 5,
        tickSize: 0,
        label: null,
        fill: GREY,
        tickFormat: (value: number) => valueInWords(second.fitted, value),
      }),
      axisWords(axisName(second.fitted), { frameAnchor: 'top-left', dx: -36, dy: -18, textAnchor: 'start' }),
      axisWords(axisName(first.fitted), { frameAnchor: 'bottom-right', dy: 32, textAnchor: 'end' }),
      ...([false, true] as const).flatMap((isKeeper) => {
        const marked = spots.filter((spot) => spot.isKeeper === isKeeper);
        const place = { x: 'x', y: 'y', symbol: isKeeper ? 'star' : 'circle' } as const;
        return [
          Plot.dot(
            marked.filter(({ isFront }) => !isFront),
            { ...place, r: 3.5, fill: 'white', stroke: LEAF, strokeWidth: 1.25 },
          ),
          Plot.dot(
            marked.filter(({ isFront }) => isFront),
            { ...place, r: 4.5, fill: LEAF, stroke: 'white' },
          ),
        ];
      }),
      ...labels.map(({ spot, dx, dy }) =>
        Plot.text([spot], {
          x: 'x',
          y: 'y',
          dx,
          dy,
          text: 'id',
          fill: INK,
          stroke: 'white',
          strokeWidth: 4,
        }),
      ),
    ],
  });
  const says = html`What each seedling is predicted to be worth in the two criteria that weigh most. ${FULL} no other outdoes them in everything: a choice among them is a matter of what you weigh; ${HOLLOW} outdone; ${KEPT} in place of the dot: a keeper you named. More to the right and higher up is ${first.fitted.weight > 0 && second.fitted.weight > 0 ? 'better' : 'more, and below 0 a weight makes less better'}.`;
  const both = `${first.fitted.criterion.name} and ${second.fitted.criterion.name}`;
  return panel(`Best in both: ${both}`, svg, says);
}

/** Of the type in plots, in pixels; capitals and figures are wide. */
const CHARACTER_WIDTH = 7.4;

function pixel(value: number, [low, high]: readonly [number, number], size: number): number {
  return ((value - low) / (high - low)) * size;
}
