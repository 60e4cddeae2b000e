/**
 * Shares with their intervals: a dot and a line for each, the counts to the right.
 */
import * as Plot from '@observablehq/plot';
import type { CrossReport, Share } from '../breeding/crosses.js';
import { crossText } from './cross-names.js';
import { draw, GREY, INK, LEAF, LINE } from './draw.js';
import { shareInWords } from './figures.js';
import { type Html, panel } from './html.js';

/** A row of a plot. */
export interface SeenShare {
  readonly name: string;
  readonly count: number;
  readonly of: number;
  readonly low: number;
  readonly high: number;
}

const AXIS_ENDS = [0.2, 0.4, 0.6, 0.8, 1];

export function percentAxis(most: number): Plot.Markish[] {
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

export function intervals(rows: readonly SeenShare[]): Plot.Markish[] {
  const seen = rows.filter(({ of }) => of > 0);
  return [
    Plot.ruleY(seen, { x1: 'low', x2: 'high', y: 'name', stroke: LEAF, strokeWidth: 2 }),
    Plot.dot(seen, {
      x: ({ count, of }: SeenShare) => count / of,
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
      text: ({ count, of }: SeenShare) => (of === 0 ? 'none yet' : `${count} of ${of}`),
      fill: INK,
    }),
  ];
}

export function sharePanels(drawn: readonly CrossReport[]): Html[] {
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
      return share === null ? [] : [{ label: crossText(cross.tally), share }];
    });
    return rows.every(({ share }) => share.of === 0)
      ? []
      : [panel(heading, sharePlot(id, heading, rows), says)];
  });
}

function sharePlot(id: string, title: string, shares: readonly { label: string; share: Share }[]): Html {
  // Crosses of two crops may have one name; rows are told apart by their number.
  const rows = shares.map(({ label, share }, index) => ({
    ...share,
    name: `${index}`,
    label,
    count: share.hits,
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
