/**
 * Text → a table: its headings, and its records with the line each one starts on.
 *
 * csv-parse splits the cells, where there are quotes; without one, every line end and every delimiter parts what it
 * stands between, and splitting there takes a tenth of the time. csv-parse is not asked for line numbers or raw
 * text, which cost it more than the parsing (and count the CRLF in a quoted cell twice): a record takes one line and
 * one more for every line end in its cells, so the lines follow from the cells.
 */
import { parse } from 'csv-parse/sync';
import { InputError } from '../errors.js';
import { countLineEnds, lineAt } from './decode.js';
import { detectDelimiter, findSeparatorLine } from './delimiter.js';
import { findQuotedCell } from './quotes.js';

export interface CsvRecord {
  /** Where the record starts in the file, counted from 1. */
  readonly line: number;
  /** Verbatim. A short row lacks cells at its end; cells beyond the last heading are there if not blank. */
  readonly cells: readonly string[];
}

export interface CsvTable {
  readonly delimiter: string;
  /** What ends the first record. */
  readonly newline: '\r\n' | '\n' | '\r';
  /** Whether the file begins with a line such as `sep=;`. */
  readonly hasSeparatorLine: boolean;
  readonly headings: readonly string[];
  readonly headingLine: number;
  /** Without the blank ones. */
  readonly records: readonly CsvRecord[];
}

/** @throws InputError if a quoted cell does not end as it should, or there is no row of headings */
export function parseCsv(text: string, file: string): CsvTable {
  const separatorLine = findSeparatorLine(text);
  const body = separatorLine ? text.slice(separatorLine.end) : text;
  const delimiter = separatorLine?.delimiter ?? detectDelimiter(body);
  const firstLine = separatorLine ? 2 : 1;
  const newline = checkQuotes(body, delimiter, firstLine, file);
  const [headings, ...records] = splitRecords(body, delimiter, firstLine);
  if (!headings) {
    throw new InputError(
      'no-headings',
      `${file} has no rows.`,
      'Give a CSV whose first row names its columns.',
      {
        file,
      },
    );
  }
  return {
    delimiter,
    newline,
    hasSeparatorLine: separatorLine !== undefined,
    headings: headings.cells,
    headingLine: headings.line,
    records: records.map((record) => trimCells(record, headings.cells.length)),
  };
}

/** Refuses what csv-parse would quietly mend, and returns the line end after the first record. */
function checkQuotes(text: string, delimiter: string, firstLine: number, file: string): CsvTable['newline'] {
  let newline: CsvTable['newline'] | undefined;
  let from = 0;
  for (;;) {
    const quoted = findQuotedCell(text, delimiter, from);
    newline ??= lineEndIn(text, from, quoted?.start ?? text.length);
    if (!quoted) return newline ?? '\n';
    if (quoted.kind !== 'closed') throw quoteError(text, quoted, firstLine, file);
    from = quoted.end;
  }
}

function lineEndIn(text: string, from: number, to: number): CsvTable['newline'] | undefined {
  const found = /\r\n|\n|\r/.exec(text.slice(from, to));
  return found?.[0] as CsvTable['newline'] | undefined;
}

function quoteError(
  text: string,
  cell: { readonly start: number; readonly at?: number },
  firstLine: number,
  file: string,
): InputError {
  const line = firstLine - 1 + lineAt(text, cell.start);
  const opening = text.slice(cell.start, cell.start + 20).split(/[\r\n]/, 1)[0];
  if (cell.at === undefined) {
    return new InputError(
      'quote-not-closed',
      `The quoted cell that opens in line ${line} (${opening}…) is never closed.`,
      'Add the closing quote, or double a quote that belongs to the text ("").',
      { file, line },
    );
  }
  const endLine = firstLine - 1 + lineAt(text, cell.at);
  const where = endLine === line ? '' : `, in line ${endLine}`;
  return new InputError(
    'stray-quote',
    `The quoted cell that opens in line ${line} (${opening}…) goes on after its closing quote${where}.`,
    'Double a quote that belongs to the text (""), or take the quotes away.',
    { file, line },
  );
}

function splitRecords(text: string, delimiter: string, firstLine: number): CsvRecord[] {
  const hasQuotes = text.includes('"');
  const rows = hasQuotes ? splitQuoted(text, delimiter) : splitUnquoted(text, delimiter);
  const records: CsvRecord[] = [];
  let line = firstLine;
  for (const cells of rows) {
    if (!cells.every(isBlank)) records.push({ line, cells });
    line++;
    if (hasQuotes) for (const cell of cells) line += countLineEnds(cell);
  }
  return records;
}

function splitUnquoted(text: string, delimiter: string): string[][] {
  return text.split(/\r\n|\n|\r/).map((line) => line.split(delimiter));
}

function splitQuoted(text: string, delimiter: string): string[][] {
  return parse(text, {
    bom: false,
    cast: false,
    columns: false,
    delimiter,
    encoding: 'utf8',
    escape: '"',
    max_record_size: 0,
    quote: '"',
    record_delimiter: ['\r\n', '\n', '\r'],
    relax_column_count: true,
    relax_quotes: true,
    skip_empty_lines: false,
    trim: false,
  });
}

/** Takes away blank cells beyond the last heading. */
function trimCells(record: CsvRecord, count: number): CsvRecord {
  const { line, cells } = record;
  return cells.length > count && cells.slice(count).every(isBlank)
    ? { line, cells: cells.slice(0, count) }
    : record;
}

function isBlank(cell: string): boolean {
  return cell.trim() === '';
}
