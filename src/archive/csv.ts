/**
 * CSV as RFC 4180 has it, in UTF-8, safe to open in a spreadsheet: a text that a spreadsheet might take for
 * a formula, or that begins with an apostrophe, has an apostrophe before it, which reading takes away.
 */
import { createReadStream, createWriteStream } from 'node:fs';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { parse } from 'csv-parse';
import { stringify } from 'csv-stringify';
import type { Cell, Table } from './tables.js';

/** What spreadsheets begin a formula with, or skip before one (OWASP, "CSV Injection"). */
const FORMULA_LIKE = /^[=+\-@\t\r\n']/;

export function guarded(text: string): string {
  return FORMULA_LIKE.test(text) ? `'${text}` : text;
}

export function unguarded(cell: string): string {
  return cell.startsWith("'") ? cell.slice(1) : cell;
}

/** Writes a table, a row at a time, and returns the number of rows. */
export async function writeTable<Row>(
  file: string,
  { columns }: Table<Row>,
  rows: AsyncIterable<Row> | Iterable<Row>,
): Promise<number> {
  let count = 0;
  async function* cells(): AsyncGenerator<string[]> {
    for await (const row of rows) {
      count++;
      yield columns.map(({ of }) => written(of(row)));
    }
  }
  const csv = stringify({
    header: true,
    columns: columns.map(({ name }) => guarded(name)),
    record_delimiter: 'windows',
  });
  await pipeline(Readable.from(cells()), csv, createWriteStream(file));
  return count;
}

function written(cell: Cell): string {
  if (cell === null) return '';
  return typeof cell === 'string' ? guarded(cell) : String(cell);
}

/** The rows of a table that `writeTable` wrote, without its heading. */
export async function* readTable(file: string): AsyncGenerator<string[]> {
  const rows = createReadStream(file).pipe(parse({ from: 2, relax_column_count: true }));
  for await (const row of rows as AsyncIterable<string[]>) yield row.map(unguarded);
}
