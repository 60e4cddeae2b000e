/**
 * HTML as a value, so that a grower's text cannot become markup: whatever is put into `html` is escaped,
 * unless it is such a value itself.
 */
export class Html {
  constructor(readonly text: string) {}
}

export type HtmlPart = Html | string | number | null | readonly HtmlPart[];

export function html(literals: TemplateStringsArray, ...parts: readonly HtmlPart[]): Html {
  return new Html(
    literals
      .map((literal, index) => (index === 0 ? '' : textOf(parts[index - 1] ?? null)) + literal)
      .join(''),
  );
}

function textOf(part: HtmlPart): string {
  if (part === null) return '';
  if (part instanceof Html) return part.text;
  return typeof part === 'object' ? part.map(textOf).join('') : escapeText(String(part));
}

const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** For text and for attributes in quotes. */
function escapeText(text: string): string {
  return harmless(text.replaceAll(/[&<>"']/g, (sign) => ENTITIES[sign] as string));
}

/** Without control characters, which HTML does not allow. */
export function harmless(text: string): string {
  return text.replaceAll(/(?![\n\t])\p{Cc}/gu, '�');
}

/** A grower's word, whichever way its script runs: it does not turn what stands around it. */
export function name(text: string): Html {
  return html`<bdi>${text}</bdi>`;
}

/** `a, b and c`. */
export function listed(items: readonly HtmlPart[]): Html {
  return html`${items.map((item, index) => [index === 0 ? '' : index === items.length - 1 ? ' and ' : ', ', item])}`;
}

/** One part of the page. */
export interface Section {
  readonly id: string;
  readonly title: string;
  readonly plots: number;
  readonly body: Html;
}

/** A plot with its heading above and what it says below. */
export function panel(heading: HtmlPart, svg: Html, says: HtmlPart): Html {
  return html`<figure class="panel"><figcaption><h3>${heading}</h3></figcaption>${svg}<p>${says}</p></figure>`;
}

export function panels(all: readonly Html[]): Html {
  return html`<div class="panels">${all}</div>`;
}

export type Cell = HtmlPart;

/** The numbers of a plot, to be unfolded; the first cell of a row names it. Numbers stand to the right. */
export function table(
  title: string,
  headings: readonly string[],
  rows: readonly (readonly Cell[])[],
  left = 0,
): Html {
  const note =
    left > 0 ? html`<p>… and ${left.toLocaleString('en-GB')} more that are not listed here.</p>` : null;
  return html`<details><summary>${title}</summary><div class="scroll" role="region" aria-label="${title}" tabindex="0">
<table><thead><tr>${headings.map((heading) => html`<th scope="col">${heading}</th>`)}</tr></thead><tbody>
${rows.map(row)}</tbody></table></div>${note}</details>`;
}

function row([first = '', ...cells]: readonly Cell[]): Html {
  return html`<tr><th scope="row">${first}</th>${cells.map((cell) =>
    typeof cell === 'number' ? html`<td class="number">${cell}</td>` : html`<td>${cell}</td>`,
  )}</tr>
`;
}
