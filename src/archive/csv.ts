/**
 * CSV as RFC 4180 has it, in UTF-8, safe to open in a spreadsheet: a text that a spreadsheet might take for
 * a formula, or that begins with an apostrophe, has an apostrophe before it, which reading takes away.
 */
import { createReadStream, createWriteStream } from 'node:fs';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { CsvError, parse } from 'csv-parse';
import { stringify } from 'csv-stringify';
import { InputError, LedgerError } from '../errors.js';
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

/** No row of ours comes near it: a quote that is not closed would take the whole file for one cell. */
const MOST_ROW_BYTES = 1 << 26;

/**
 * The rows of a table that `writeTable` wrote, without its heading.
 * @throws InputError if the file cannot be read, LedgerError `damaged` if it is no CSV any more
 */
export async function* readTable(file: string): AsyncGenerator<string[]> {
  const parser = parse({ from: 2, relax_column_count: true, max_record_size: MOST_ROW_BYTES });
  const source = createReadStream(file).on('error', (error) => parser.destroy(error));
  const rows = source.pipe(parser) as AsyncIterable<string[]>;
  const reading = rows[Symbol.asyncIterator]();
  try {
    for (;;) {
      const next = await reading.next().catch((error: unknown) => {
        throw refusal(file, error);
      });
      if (next.done) return;
      yield next.value.map(unguarded);
    }
  } finally {
    source.destroy();
  }
}

function refusal(file: string, error: unknown): unknown {
  const { code, message } = error as NodeJS.ErrnoException;
  const options = { cause: error };
  if (error instanceof CsvError) {
    const hint = 'Take another copy. Nothing was made.';
    return new LedgerError('damaged', `${file} is no sound CSV (${message}).`, hint, options);
  }
  if (code === undefined) return error;
  const hint = 'Name a folder that pottag export made, and that you can read.';
  return new InputError('cannot-read-file', `${file} cannot be read (${code}).`, hint, {}, [], options);
}
