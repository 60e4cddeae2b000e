/**
 * Where the quoted cells of a CSV stand (RFC 4180, section 2), found by leaping from quote to quote.
 *
 * A quote opens a quoted cell only as the cell's first character. Further in, as in `6" pot`, it is a
 * character like any other: RFC 4180 forbids it, but spreadsheets read it so, and nothing is lost.
 */

/** `start` is the opening quote, `end` just after the closing one, `at` what stands where a cell should end. */
export type QuotedCell =
  | { readonly kind: 'closed'; readonly start: number; readonly end: number }
  | { readonly kind: 'never closed'; readonly start: number }
  | { readonly kind: 'goes on'; readonly start: number; readonly at: number };

/** The first quoted cell at or after `from`, which must be where a cell begins. */
export function findQuotedCell(text: string, delimiter: string, from: number): QuotedCell | undefined {
  for (let quote = text.indexOf('"', from); quote !== -1; quote = text.indexOf('"', quote + 1)) {
    if (quote === from || endsCell(text[quote - 1], delimiter)) return quotedCellAt(text, delimiter, quote);
  }
  return undefined;
}

/** The quoted cell whose opening quote is at `start`. */
export function quotedCellAt(text: string, delimiter: string, start: number): QuotedCell {
  let quote = text.indexOf('"', start + 1);
  while (quote !== -1 && text[quote + 1] === '"') quote = text.indexOf('"', quote + 2);
  if (quote === -1) return { kind: 'never closed', start };
  const end = quote + 1;
  if (end === text.length || endsCell(text[end], delimiter)) return { kind: 'closed', start, end };
  return { kind: 'goes on', start, at: end };
}

function endsCell(character: string | undefined, delimiter: string): boolean {
  return character === delimiter || character === '\n' || character === '\r';
}
