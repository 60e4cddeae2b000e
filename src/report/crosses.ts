/**
 * What each cross gave: the types of its figs against what was expected, and the shares of persistent females
 * and of keepers.
 */

import type { CrossesReport, CrossReport } from '../breeding/crosses.js';
import { grouped } from '../wording.js';
import { crossName } from './cross-names.js';
import { crossTables } from './cross-tables.js';

import { type HtmlPart, html, listed, panels, type Section } from './html.js';
import { sharePanels } from './share-plots.js';
import { typesPanel } from './types-plot.js';

/** So many crosses are drawn, those with the most seedlings; a page of more is not read. */
export const MOST_DRAWN = 12;

export function crossesSection({ crosses, parents }: CrossesReport): Section {
  const largest = bySize(crosses);
  const drawn = largest.slice(0, MOST_DRAWN);
  const typed = drawn.filter(hasTypesSeen);
  const untyped = drawn.filter((cross) => cross.types !== null && !hasTypesSeen(cross));
  const shares = sharePanels(drawn);
  const body = html`
<p>How often each outcome was seen, with its 95\u00a0% interval: where an interval is wide, more fruit has to be seen before it says much. Only seedlings whose type is called (0.95 or more likely) are counted. Trees that hold fruit are called sooner than those that drop it, so early counts lean to persistent ones.</p>
${remark(drawn.length, crosses.length)}
${panels(typed.map((cross, index) => typesPanel(cross, index)))}
${untyped.length === 0 ? null : html`<p>No type is called yet in ${listed(untyped.map(({ tally }) => crossName(tally)))}.</p>`}
${panels(shares)}
${crossTables(largest, parents)}`;
  return { id: 'crosses', title: 'Crosses', plots: typed.length + shares.length, body };
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
