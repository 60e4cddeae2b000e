/**
 * The best seedlings in the order of their ranks, each with the line its true rank lies on.
 */

import * as Plot from '@observablehq/plot';
import type { RankedSeedling } from '../breeding/keepers.js';
import { grouped } from '../wording.js';
import { axisWords, draw, FULL, GREY, HOLLOW, INK, KEPT, LEAF, LINE } from './draw.js';

import { type Html, html, panel } from './html.js';

function label({ rank, plant }: RankedSeedling): string {
  return `${rank}  ${plant.id}`;
}

const FINE_TICKS = [1, 2, 5, 10, 20, 50, 100, 200, 500];
/** For which there is room where ranks run into the thousands. */
const COARSE_TICKS = [1, 10, 100, 1000, 10_000, 100_000];

export function rankPanel(top: readonly RankedSeedling[], all: number, of: string, index: number): Html {
  const most = Math.max(2, ...top.map(({ rankHigh }) => rankHigh));
  const ticks = (most < 1000 ? FINE_TICKS : COARSE_TICKS).filter((rank) => rank <= most);
  const caption = {
    id: `ranks-${index + 1}`,
    title: `The best seedlings${of}, by rank`,
    description: top
      .map(({ rank, rankLow, rankHigh, plant }) => `${rank}: ${plant.id}, rank ${rankLow} to ${rankHigh}`)
      .join('. '),
  };
  const svg = draw(caption, {
    height: 30 + 17 * top.length,
    marginLeft: 88,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 6,
    x: { type: 'log', domain: [0.93, most * 1.07], axis: null },
    y: { domain: top.map(label), axis: null },
    marks: [
      Plot.gridX(ticks, { stroke: LINE, strokeOpacity: 1, strokeWidth: 0.75 }),
      Plot.axisX(ticks, { anchor: 'top', tickSize: 0, label: null, text: grouped, fill: GREY }),
      axisWords('rank', { frameAnchor: 'top-left', dx: -10, dy: -18, textAnchor: 'end' }),
      Plot.axisY({ tickSize: 0, tickPadding: 84, textAnchor: 'start', label: null, fill: INK }),
      Plot.ruleY(top, { x1: 'rankLow', x2: 'rankHigh', y: label, stroke: LEAF, strokeWidth: 2 }),
      // Where little is known, the predicted order is far ahead of where the true rank may be.
      Plot.ruleY(
        top.filter(({ rank, rankLow }) => rank < rankLow),
        { x1: 'rank', x2: 'rankLow', y: label, stroke: LEAF, strokeDasharray: '1.5,3' },
      ),
      ...(['circle', 'star'] as const).map((symbol) =>
        Plot.dot(
          top.filter(({ keep }) => (symbol === 'star') === (keep === 'yes')),
          {
            x: 'rank',
            y: label,
            symbol,
            r: 4.5,
            fill: ({ outdoneBy }: RankedSeedling) => (outdoneBy === null ? LEAF : 'white'),
            stroke: LEAF,
            strokeWidth: 1.5,
          },
        ),
      ),
    ],
  });
  const says = html`${top.length < all ? `The best ${top.length} of ${grouped(all)}. ` : ''}${FULL} no other is as good in everything you weigh; ${HOLLOW} outdone by another in everything, whatever the weights; ${KEPT} in place of the dot: a keeper you named.`;
  return panel('Ranks and their ranges', svg, says);
}
