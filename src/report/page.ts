/**
 * The page around the sections: one file that asks nothing of the net, and that could not if it wanted to.
 */
import { createHash } from 'node:crypto';
import { type Html, html, Html as Raw, type Section } from './html.js';
import { styleSheet } from './style.js';

/** By this a page that Pottag wrote is known, and may be replaced. */
export const GENERATOR = '<meta name="generator" content="Pottag report">';

export function page(title: string, asOf: string, sections: readonly Section[]): string {
  const style = styleSheet();
  const policy = [
    "default-src 'none'",
    `style-src 'sha256-${createHash('sha256').update(style).digest('base64')}'`,
    'font-src data:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
${new Raw(GENERATOR)}
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${title}</title>
<style>${new Raw(style)}</style>
</head>
<body>
<header>
<h1>${title}</h1>
<p>${asOf}</p>
<nav aria-label="Parts of this page"><ul>${sections.map(({ id, title: of }) => html`<li><a href="#${id}">${of}</a></li>`)}</ul></nav>
</header>
<main>
${sections.map(sectionPart)}
</main>
<footer><p>Written by <code>pottag report</code> from the ledger as it was then. Shares have 95\u00a0% intervals by Wilson’s method.</p></footer>
</body>
</html>
`.text;
}

function sectionPart({ id, title, body }: Section): Html {
  return html`<section id="${id}" aria-labelledby="${id}-heading">
<h2 id="${id}-heading">${title}</h2>
${body}
</section>
`;
}
