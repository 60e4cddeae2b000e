/**
 * How the page looks: black on white, one dark green that prints as grey, the typeface of the tags. On paper
 * a plot stays whole and lists that are folded stay so.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const FONT = '@expo-google-fonts/atkinson-hyperlegible-next';
const FILES = [
  [400, `${FONT}/400Regular/AtkinsonHyperlegibleNext_400Regular.ttf`],
  [700, `${FONT}/700Bold/AtkinsonHyperlegibleNext_700Bold.ttf`],
] as const;

/** The whole style sheet, fonts and all. */
export function styleSheet(): string {
  const require = createRequire(import.meta.url);
  const faces = FILES.map(([weight, file]) => {
    const data = readFileSync(require.resolve(file)).toString('base64');
    return `@font-face { font-family: Tag; font-weight: ${weight}; src: url(data:font/ttf;base64,${data}); }`;
  });
  return `${faces.join('\n')}\n${STYLE}`;
}

const STYLE = `
:root { --ink: #1b1b1b; --grey: #575757; --line: #c4c4c4; --leaf: #1d4d2f; color-scheme: light; }
* { box-sizing: border-box; }
html { font: 17px/1.5 Tag, system-ui, sans-serif; color: var(--ink); background: #fff; font-variant-numeric: proportional-nums; -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 2.5rem 1.25rem 4rem; max-width: 47.5rem; overflow-wrap: break-word; }
h1, h2, h3, p, ul, dl, figure { margin: 0; }
h1 { font-size: 2.1rem; line-height: 1.15; letter-spacing: -0.01em; }
h2 { font-size: 1.45rem; line-height: 1.25; padding-top: 0.9rem; border-top: 2px solid var(--leaf); }
h3 { font-size: 1rem; line-height: 1.35; }
section { margin-top: 3.2rem; }
section > * + *, section > h3 + p { margin-top: 0.8rem; }
section > h3, section > .panels + h3 { margin-top: 2rem; }
header p { margin-top: 0.35rem; color: var(--grey); }
nav ul { display: flex; flex-wrap: wrap; gap: 0.15rem 1.25rem; list-style: none; padding: 0; margin-top: 1.1rem; }
a { color: var(--leaf); text-underline-offset: 0.18em; display: inline-block; padding: 0.15rem 0; }
:focus-visible { outline: 3px solid var(--leaf); outline-offset: 2px; }
code { font: 0.92em ui-monospace, monospace; white-space: nowrap; }
ul { padding-left: 1.15rem; }
li + li { margin-top: 0.3rem; }
nav li + li { margin-top: 0; }
.figures { display: grid; grid-template-columns: repeat(auto-fit, minmax(7.6rem, 1fr)); gap: 1rem 1rem; }
.figures div { display: flex; flex-direction: column-reverse; justify-content: flex-end; }
.figures dt { color: var(--grey); font-size: 0.88rem; }
.figures dd { margin: 0; font-size: 2rem; white-space: nowrap; line-height: 1.1; font-weight: 700; }
section > .lead { margin-top: 1.4rem; }
.panels { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 19.5rem), 1fr)); gap: 2rem 2.25rem; }
section > .panels, section > .benches { margin-top: 1.6rem; }
.panels:empty { display: none; }
.panel figcaption, .bench figcaption { margin-bottom: 0.45rem; }
.panel > p, .bench p { font-size: 0.88rem; line-height: 1.45; color: var(--grey); }
.panel > p { margin-top: 0.35rem; }
.bench + .bench { margin-top: 1.8rem; }
.mark { width: 0.8em; height: 0.8em; vertical-align: -0.05em; }
.key { white-space: nowrap; margin-right: 0.9rem; }
.plot { display: block; max-width: 100%; height: auto; font: 11.5px/1 Tag, system-ui, sans-serif; overflow: visible; }
.plot text { white-space: pre; }
.bench .plot { max-width: none; }
.scroll { overflow-x: auto; }
details { margin-top: 0.9rem; }
summary { cursor: pointer; color: var(--leaf); padding: 0.15rem 0; }
table { border-collapse: collapse; font-size: 0.85rem; line-height: 1.35; font-variant-numeric: tabular-nums; margin: 0.5rem 0 1rem; }
th, td { text-align: left; vertical-align: baseline; padding: 0.3rem 0.9rem 0.3rem 0; border-bottom: 1px solid var(--line); }
thead th { vertical-align: bottom; border-bottom: 1px solid var(--ink); min-width: 3.4rem; }
tbody th { font-weight: 400; white-space: nowrap; }
td.number { text-align: right; }
footer { margin-top: 3rem; color: var(--grey); font-size: 0.88rem; }
@page {
  margin: 16mm 15mm 18mm;
  @bottom-right { content: counter(page) " / " counter(pages); font: 9pt Tag, sans-serif; color: #575757; }
}
@media print {
  html { font-size: 10.5pt; }
  body { padding: 0; max-width: none; }
  nav, details:not([open]) { display: none; }
  section { margin-top: 1.8rem; }
  h2, h3, figcaption, section > p { break-after: avoid; }
  figure, .figures, li, tr, section > p, #care { break-inside: avoid; }
  p { orphans: 3; widows: 3; }
  .panels { grid-template-columns: 1fr 1fr; gap: 1.4rem 1.6rem; }
  .scroll { overflow: visible; }
  .bench .plot { max-width: 100%; }
  a { color: inherit; }
}
`;
