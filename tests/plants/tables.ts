/** Tables of cells as CSV bytes, written by rules of RFC 4180 that share no code with `src/`. */
import fc from 'fast-check';

export const NEWLINES = ['\n', '\r\n', '\r'] as const;
export const DELIMITERS = [',', ';', '\t'] as const;

export interface Form {
  readonly delimiter: string;
  readonly newline: string;
  /** Else only where a cell holds a quote, a line end or any of the delimiters. */
  readonly quoteAll: boolean;
  readonly separatorLine: boolean;
  readonly finalNewline: boolean;
}

export const form: fc.Arbitrary<Form> = fc.record({
  delimiter: fc.constantFrom(...DELIMITERS),
  newline: fc.constantFrom(...NEWLINES),
  quoteAll: fc.boolean(),
  separatorLine: fc.boolean(),
  finalNewline: fc.boolean(),
});

/** Cells full of what upsets a parser, and cells of any script. */
export const cell: fc.Arbitrary<string> = fc.oneof(
  { weight: 3, arbitrary: fc.stringMatching(/^[A-Za-z0-9 ]{0,8}$/) },
  {
    weight: 2,
    arbitrary: fc.string({
      unit: fc.constantFrom('a', 'é', ' ', '"', ',', ';', '\t', '\n', '\r', '\r\n', '='),
      maxLength: 8,
    }),
  },
  {
    weight: 1,
    arbitrary: fc.string({ unit: 'grapheme', maxLength: 6 }).filter((text) => !text.includes('\0')),
  },
);

export function writeTable(rows: readonly (readonly string[])[], form: Form): string {
  const lines = rows.map((cells) =>
    cells
      .map((text) => (form.quoteAll || /[",;\t\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text))
      .join(form.delimiter),
  );
  if (form.separatorLine) lines.unshift(`sep=${form.delimiter}`);
  return lines.join(form.newline) + (form.finalNewline ? form.newline : '');
}

export type EncodingForm =
  | 'UTF-8'
  | 'UTF-8 BOM'
  | 'UTF-16 LE BOM'
  | 'UTF-16 BE BOM'
  | 'UTF-16 LE'
  | 'UTF-16 BE';

export function encode(text: string, encoding: EncodingForm): Buffer {
  const marked = encoding.endsWith('BOM') ? `\uFEFF${text}` : text;
  if (encoding.startsWith('UTF-8')) return Buffer.from(marked, 'utf8');
  const bytes = Buffer.from(marked, 'utf16le');
  return encoding.startsWith('UTF-16 BE') ? bytes.swap16() : bytes;
}
