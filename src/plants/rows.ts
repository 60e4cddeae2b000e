/**
 * A grower's CSV → rows that can become plants, and every problem of those that cannot, in one pass.
 */
import type { Problem } from '../errors.js';
import { PLANT_KINDS, type PlantKind, type PlantFields as StoredFields } from '../ledger/model.js';
import { columnOption, quote, tidy } from '../wording.js';
import { parseCross } from './cross.js';
import { type CsvRecord, type CsvTable, parseCsv } from './csv.js';
import { type DateOrder, readDateColumn } from './dates.js';
import { decodeText, type Encoding } from './decode.js';
import type { Field } from './heading-words.js';
import { type Columns, mapHeadings } from './headings.js';
import { FIG_TYPES, parseFigType, parseKind } from './kinds.js';
import { spreadsheetFault } from './spreadsheet-cells.js';

/** What a row says of its plant; `null` is not known. */
export interface PlantFields extends Omit<StoredFields, 'origin'> {
  /** ID or key of the plant that a cutting or graft was taken from, as the row gives it. */
  readonly origin: string | null;
}

export interface PlantRow {
  /** Where the row starts in the file, counted from 1. */
  readonly line: number;
  /** The cell of the `id` column, not checked. */
  readonly id?: string;
  readonly fields: PlantFields;
}

/** The file as it was read. */
export interface PlantSource {
  readonly encoding: Encoding;
  readonly table: CsvTable;
  readonly columns: Columns;
}

export interface PlantRows {
  /** The rows without a problem, in the order of the file. */
  readonly rows: readonly PlantRow[];
  /** In the order of the lines. */
  readonly problems: readonly Problem[];
  readonly source: PlantSource;
}

export interface ReadOptions {
  /** Field → heading, as `--column` gives them; an empty heading leaves the field out. */
  readonly columns: ReadonlyMap<string, string>;
  readonly dates?: DateOrder | undefined;
  /** ISO 8601; no plant was sown later. */
  readonly today: string;
  /** The file's name, for messages. */
  readonly file: string;
  /** Called now and then with the rows read so far and all rows there are. */
  readonly onProgress?: ((done: number, of: number) => void) | undefined;
}

const LONGEST_KEY = 200;
const PROGRESS_ROWS = 2_000;

/** @throws InputError if the file as a whole cannot be read: not text, bad quoting, unclear headings */
export function readPlantRows(bytes: Uint8Array, options: ReadOptions): PlantRows {
  const { text, encoding } = decodeText(bytes, options.file);
  const table = parseCsv(text, options.file);
  const place = { file: options.file, line: table.headingLine };
  const columns = mapHeadings(table.headings, options.columns, place);
  const sown = readSown(table, columns, options);
  const seen: Seen = { keys: new Map(), lineOfId: new Map() };
  const rows: PlantRow[] = [];
  const problems: Problem[] = [];
  for (const [index, record] of table.records.entries()) {
    const cells = new RowCells(record, columns);
    const row = readRow(cells, sown[index], seen);
    if (cells.problems.length === 0) rows.push(row);
    else problems.push(...cells.problems);
    const done = index + 1;
    if (done % PROGRESS_ROWS === 0 || done === table.records.length) {
      options.onProgress?.(done, table.records.length);
    }
  }
  return { rows, problems, source: { encoding, table, columns } };
}

/** Lines of rows that end before the last heading: what is not there is taken for empty cells. */
export function shortRows({ table: { headings, records } }: PlantSource): number[] {
  const last = headings.findLastIndex((heading) => heading.trim() !== '');
  return records.filter(({ cells }) => cells.length <= last).map(({ line }) => line);
}

/** One record's cells by field, and the problems found in them. */
class RowCells {
  readonly problems: Problem[] = [];

  constructor(
    readonly record: CsvRecord,
    readonly columns: Columns,
  ) {}

  /** Trimmed; empty if there is no such column or cell. */
  get(field: Field): string {
    const index = this.columns.fields.get(field);
    return index === undefined ? '' : (this.record.cells[index]?.trim() ?? '');
  }

  report(field: Field | null, problem: string): void {
    const index = field === null ? undefined : this.columns.fields.get(field);
    const column = index === undefined ? null : (this.columns.labels[index] ?? null);
    this.problems.push({ line: this.record.line, column, problem });
  }
}

/** Where keys and IDs stood first. */
interface Seen {
  /** By the key in lower case. */
  readonly keys: Map<string, { readonly line: number; readonly key: string }>;
  readonly lineOfId: Map<string, number>;
}

type Sown = { readonly date: string } | { readonly problem: string } | undefined;

/** Fields in which what a spreadsheet leaves would be taken for a name. */
const NAMES: readonly Field[] = ['key', 'seed_parent', 'pollen_parent', 'origin', 'station'];

function readRow(cells: RowCells, sown: Sown, seen: Seen): PlantRow {
  for (const field of NAMES) {
    const fault = spreadsheetFault(cells.get(field));
    if (fault !== undefined) cells.report(field, fault);
  }
  const key = readKey(cells, seen);
  const id = readId(cells, seen);
  const { seedParent, pollenParent } = readParents(cells);
  if (sown && 'problem' in sown) cells.report('sown', sown.problem);
  const origin = known(tidy(cells.get('origin')));
  const fields: PlantFields = {
    key,
    kind: readKind(cells, origin),
    seedParent,
    pollenParent,
    sown: sown && 'date' in sown ? sown.date : null,
    origin,
    station: known(tidy(cells.get('station'))),
    type: readType(cells),
    note: known(cells.get('note').replace(/\r\n?/g, '\n').normalize('NFC')),
    extra: readExtra(cells),
  };
  return { line: cells.record.line, ...(id === undefined ? {} : { id }), fields };
}

function readKey(cells: RowCells, { keys }: Seen): string {
  const key = tidy(cells.get('key'));
  const first = keys.get(key.toLowerCase());
  if (key === '') {
    cells.report('key', 'The key is empty: give the plant its own unique name, or delete the row.');
  } else if (/\p{Cc}/u.test(key)) {
    cells.report('key', `${quote(key)} holds a control character: type the key anew.`);
  } else if (key.length > LONGEST_KEY && [...key].length > LONGEST_KEY) {
    cells.report('key', `${quote(key)} has more than ${LONGEST_KEY} characters: shorten the key.`);
  } else if (first?.key === key) {
    cells.report(
      'key',
      `${quote(key)} is the key in line ${first.line} too: give each plant its own, or delete a row.`,
    );
  } else if (first !== undefined) {
    cells.report(
      'key',
      `${quote(key)} and the key in line ${first.line}, ${quote(first.key)}, differ in capital letters alone: nobody hears that. Write one of them otherwise, or delete a row.`,
    );
  } else keys.set(key.toLowerCase(), { line: cells.record.line, key });
  return key;
}

function readId(cells: RowCells, { lineOfId }: Seen): string | undefined {
  const id = cells.get('id');
  if (id === '') return undefined;
  const first = lineOfId.get(id.toUpperCase());
  if (first === undefined) lineOfId.set(id.toUpperCase(), cells.record.line);
  else {
    cells.report(
      'id',
      `${quote(id)} is the ID in line ${first} too: leave it where it belongs, and empty the other cell.`,
    );
  }
  return id;
}

function readParents(cells: RowCells): Pick<PlantFields, 'seedParent' | 'pollenParent'> {
  const written = tidy(cells.get('cross'));
  if (written === '') {
    return {
      seedParent: known(tidy(cells.get('seed_parent'))),
      pollenParent: known(tidy(cells.get('pollen_parent'))),
    };
  }
  const cross = parseCross(written);
  if (!cross) {
    cells.report(
      'cross',
      `${quote(written)} is not a cross of two parents: write it as "seed parent × pollen parent", or give --column cross= to keep the column as it is.`,
    );
  }
  return cross ?? { seedParent: null, pollenParent: null };
}

function readKind(cells: RowCells, origin: string | null): PlantKind {
  const written = cells.get('kind');
  if (written === '') return origin === null ? 'seedling' : 'cutting';
  const kind = parseKind(written);
  if (!kind) {
    cells.report(
      'kind',
      `${quote(written)} is not a kind of plant: write ${PLANT_KINDS.join(', ')}, or nothing.`,
    );
  } else if (kind === 'seedling' && origin !== null) {
    cells.report(
      'origin',
      `A seedling has no origin, but this one names ${quote(origin)}: make it a cutting or a graft, or empty the cell.`,
    );
  }
  return kind ?? 'seedling';
}

function readType(cells: RowCells): string | null {
  const written = cells.get('type');
  if (written === '') return null;
  const type = parseFigType(written);
  if (type === undefined) {
    const index = cells.columns.fields.get('type') as number;
    const isKind = parseKind(written) !== undefined && !cells.columns.fields.has('kind');
    const otherwise = isKind
      ? `or give ${columnOption('kind', cells.columns.labels[index] as string)} to read it as the kind`
      : 'or give --column type= to leave the column out';
    cells.report('type', `${quote(written)} is not a type of fig: write ${FIG_TYPES}, ${otherwise}.`);
  }
  return type ?? null;
}

const NOTHING_MORE: Readonly<Record<string, string>> = Object.freeze({});

/** The cells of the columns that hold no field, verbatim. */
function readExtra(cells: RowCells): Readonly<Record<string, string>> {
  const { record, columns } = cells;
  if (record.cells.length > columns.labels.length) {
    const beyond = record.cells.slice(columns.labels.length).join(' ').trim();
    cells.report(
      null,
      `The row goes on after the last heading (${quote(beyond)}): put a cell that holds the delimiter in quotes, or give the column a heading.`,
    );
  }
  if (columns.extra.length === 0) return NOTHING_MORE;
  const extra: [string, string][] = [];
  for (const index of columns.extra) {
    const cell = record.cells[index];
    if (cell === undefined) break;
    if (cell.trim() !== '') extra.push([columns.labels[index] as string, cell]);
  }
  return Object.fromEntries(extra);
}

/** One answer for each record, `undefined` where the cell is empty. */
function readSown(table: CsvTable, columns: Columns, options: ReadOptions): readonly Sown[] {
  const index = columns.fields.get('sown');
  if (index === undefined) return [];
  const filled: { at: number; line: number; cell: string }[] = [];
  for (const [at, { line, cells }] of table.records.entries()) {
    const cell = cells[index]?.trim() ?? '';
    if (cell !== '') filled.push({ at, line, cell });
  }
  const sown: Sown[] = Array<Sown>(table.records.length).fill(undefined);
  for (const [nth, answer] of readDateColumn(filled, {
    order: options.dates,
    today: options.today,
  }).entries()) {
    sown[(filled[nth] as { at: number }).at] = answer;
  }
  return sown;
}

function known(text: string): string | null {
  return text === '' ? null : text;
}
