/**
 * Crosses as the page names them: the seed parent first in every script. A line runs from left to right, and
 * each parent's name is a directional isolate (Unicode Standard Annex 9, 3.1.2) that runs its own way in it.
 */
import { type Cross, formatCross } from '../plants/cross.js';
import { type Html, html } from './html.js';

const [ISOLATE, END] = ['\u2068', '\u2069'];

/** Scripts from right to left: their blocks in the first plane, and those set aside for them beyond. */
const RIGHT_TO_LEFT = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\u{10800}-\u{10fff}\u{1e800}-\u{1efff}]/u;

/** `A × B` for text and plots. */
export function crossText({ seedParent, pollenParent }: Cross): string {
  return formatCross(isolated(seedParent), isolated(pollenParent)) ?? 'parents not known';
}

export function crossName(cross: Cross): Html {
  return leftToRight(crossText(cross));
}

export function leftToRight(text: string): Html {
  return html`<bdi dir="ltr">${text}</bdi>`;
}

function isolated(parent: string | null): string | null {
  return parent !== null && RIGHT_TO_LEFT.test(parent) ? `${ISOLATE}${parent}${END}` : parent;
}
