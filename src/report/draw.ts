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
