/**
 * Plots as SVG in the page: drawn here once and for all, so that the page needs no script. Everything is
 * told apart by shape, dash or place, never by colour alone.
 */
import { type Markish, type PlotOptions, plot, type TextOptions, text } from '@observablehq/plot';
import { parseHTML } from 'linkedom';
import { Html, harmless, html } from './html.js';

/** Two plots of this width stand side by side on A4 and Letter, and one fills a phone. */
export const PLOT_WIDTH = 344;

export const INK = '#1b1b1b';
/** For marks that matter; dark enough to be like ink without colour (9.6 : 1 on white). */
export const LEAF = '#1d4d2f';
/** The faintest that text may have (7 : 1 on white). */
export const GREY = '#575757';
export const LINE = '#c4c4c4';
export const BAND = '#e2e6e2';

export const { document } = parseHTML('<!doctype html><html><body></body></html>');

/** What a plot is called and says to those who do not see it. */
export interface Caption {
  /** Of its own in the page. */
  readonly id: string;
  readonly title: string;
  readonly description: string;
}

export function draw({ id, title, description }: Caption, options: PlotOptions): Html {
  const svg = plot({ width: PLOT_WIDTH, ...options, document });
  // The page's own styles do for it, and its security policy lets no other in.
  svg.querySelector('style')?.remove();
  svg.setAttribute('class', 'plot');
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-labelledby', `${id}-title`);
  svg.setAttribute('aria-describedby', `${id}-desc`);
  for (const part of svg.querySelectorAll('[aria-label]')) part.removeAttribute('aria-label');
  const markup = harmless(svg.outerHTML as string);
  const inside = markup.indexOf('>') + 1;
  const words = html`<title id="${id}-title">${title}</title><desc id="${id}-desc">${description}</desc>`;
  return new Html(markup.slice(0, inside) + words.text + markup.slice(inside));
}

/** What an axis counts, written at a corner of the frame. */
export function axisWords(words: string, place: TextOptions): Markish {
  return text([words], { ...place, text: (each: string) => each, fill: GREY });
}

/** A mark of the plots amid words, since the typeface has none: what says the same stands beside it. */
function amidWords(shape: Html): Html {
  return html`<svg class="mark" viewBox="-8 -8 16 16" aria-hidden="true">${shape}</svg>`;
}

/** Of five points, as Plot draws it: the inner corners lie on the lines between the outer ones. */
const STAR = Array.from({ length: 10 }, (_, corner) => {
  const radius = corner % 2 === 0 ? 7.5 : 7.5 * (Math.sin(Math.PI / 10) / Math.sin((7 * Math.PI) / 10));
  const angle = (corner * Math.PI) / 5;
  return `${(radius * Math.sin(angle)).toFixed(2)},${(-radius * Math.cos(angle)).toFixed(2)}`;
}).join(' ');

export const FULL = amidWords(html`<circle r="5" fill="${LEAF}"/>`);
export const HOLLOW = amidWords(html`<circle r="4.5" fill="white" stroke="${LEAF}" stroke-width="1.75"/>`);
export const KEPT = amidWords(html`<polygon points="${STAR}" fill="${LEAF}"/>`);
export const GONE = amidWords(
  html`<path d="M-4.5,-4.5L4.5,4.5M-4.5,4.5L4.5,-4.5" stroke="${GREY}" stroke-width="2"/>`,
);
