/**
 * What is left of a damaged journal, entry by entry in order, each held against the hashes of its neighbours.
 */
import { LedgerError } from '../errors.js';
import { isIdLength, type PlantId } from '../ids/plant-id.js';
import { Database } from './database.js';
import { entryHash, type JournalEntry, NO_HASH, uuidOfBytes } from './journal.js';
import { type Cell, rowsOf, type StoredRow } from './pages.js';

/**
 * `proven`: it is as it was written, as the hashes before or after it show. `unproven`: it can be read, but the
 * entry before it, whose hash it would take to tell, is lost. `changed`: it is not what was written.
 */
export type Judged =
  | { readonly kind: 'proven' | 'unproven' | 'changed'; readonly entry: JournalEntry }
  | { readonly kind: 'lost'; readonly first: number; readonly last: number };

/** What the derived tables still say of a plant. */
export interface PlantRow {
  readonly number: number;
  readonly id: PlantId;
  /** Its fields by the names of their columns. */
  readonly fields: Readonly<Record<string, string | null>>;
}

/** Rows read from the damaged file, put in order in a database of their own. */
export class Evidence {
  private constructor(private readonly database: Database) {}

  /** @param scratch a file that is not there yet */
  static gather(databaseFile: string, scratch: string): Evidence {
    const database = Database.openOrCreate(scratch);
    database.pragma('synchronous = OFF');
    database.execute(`
      CREATE TABLE entry (seq INTEGER, at TEXT, by TEXT, kind TEXT, body TEXT, id TEXT, hash BLOB,
        PRIMARY KEY (seq, hash, body, at, by, kind, id)) WITHOUT ROWID;
      CREATE TABLE seen (seq INTEGER PRIMARY KEY);
      CREATE TABLE plant (number INTEGER PRIMARY KEY, id TEXT, fields TEXT);
      BEGIN`);
    try {
      for (const row of rowsOf(databaseFile)) gatherRow(database, row);
    } catch (error) {
      database.close();
      throw unreadableFile(databaseFile, error);
    }
    database.execute('COMMIT');
    return new Evidence(database);
  }

  /** The whole journal in order, as far as anything tells how long it was. */
  *entries(): Generator<Judged> {
    let before: { readonly hash: Uint8Array; readonly isSure: boolean } | undefined = {
      hash: NO_HASH,
      isSure: true,
    };
    let expected = 1;
    const groups = pairs(this.#groups());
    for (const [candidates, following] of groups) {
      const seq = (candidates[0] as JournalEntry).seq;
      if (seq > expected) {
        yield { kind: 'lost', first: expected, last: seq - 1 };
        before = undefined;
      }
      const next = following?.[0]?.seq === seq + 1 ? following : [];
      const judged = judge(candidates, before?.hash, next);
      if (judged !== undefined) {
        yield { kind: 'proven', entry: judged };
        before = { hash: judged.hash, isSure: true };
      } else {
        const entry = likeliest(candidates, next);
        yield { kind: before?.isSure ? 'changed' : 'unproven', entry };
        before = { hash: entry.hash, isSure: false };
      }
      expected = seq + 1;
    }
    const last = this.database.get<{ seq: number | null }>('SELECT max(seq) AS seq FROM seen')?.seq ?? 0;
    if (last >= expected) yield { kind: 'lost', first: expected, last };
  }

  *plants(): Generator<PlantRow> {
    const rows = this.database.all<{ number: number; id: PlantId; fields: string }>(
      'SELECT number, id, fields FROM plant ORDER BY number',
    );
    for (const { number, id, fields } of rows) yield { number, id, fields: JSON.parse(fields) };
  }

  close(): void {
    this.database.close();
  }

  /** All that was read of one entry: where a page is there in several versions, or in pieces, they can differ. */
  *#groups(): Generator<readonly JournalEntry[]> {
    let group: JournalEntry[] = [];
    const rows = this.database.iterate<JournalEntry & { hash: ArrayBuffer }>(
      'SELECT * FROM entry ORDER BY seq',
    );
    for (const row of rows) {
      if (group[0] !== undefined && group[0].seq !== row.seq) {
        yield group;
        group = [];
      }
      group.push({ ...row, hash: new Uint8Array(row.hash) });
    }
    if (group.length > 0) yield group;
  }
}

/** The candidate that follows from the hash before it, or from which the next entry follows. */
function judge(
  candidates: readonly JournalEntry[],
  before: Uint8Array | undefined,
  next: readonly JournalEntry[],
): JournalEntry | undefined {
  if (before === undefined) return undefined;
  const rehashed = candidates.map((entry) => ({ ...entry, hash: entryHash(before, entry) }));
  return (
    rehashed.find(({ hash }, index) => hash.equals(candidates[index]?.hash ?? NO_HASH)) ??
    rehashed.find(({ hash }) => isFollowed(hash, next))
  );
}

function isFollowed(hash: Uint8Array, next: readonly JournalEntry[]): boolean {
  return next.some((entry) => entryHash(hash, entry).equals(entry.hash));
}

function likeliest(candidates: readonly JournalEntry[], next: readonly JournalEntry[]): JournalEntry {
  return candidates.find(({ hash }) => isFollowed(hash, next)) ?? (candidates[0] as JournalEntry);
}

function* pairs<T>(values: Iterable<T>): Generator<[T, T | undefined]> {
  let held: { readonly value: T } | undefined;
  for (const value of values) {
    if (held !== undefined) yield [held.value, value];
    held = { value };
  }
  if (held !== undefined) yield [held.value, undefined];
}

/** Which table a row is of shows in its cells: they are unlike in every table. */
function gatherRow(database: Database, { key, cells }: StoredRow): void {
  if (isJournalRow(cells)) {
    const [, id, at, by, kind, body, hash] = cells;
    database.run(
      'INSERT OR IGNORE INTO entry (seq, id, at, by, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?, ?)',
      key,
      uuidOfBytes(id),
      at,
      by,
      kind,
      body,
      hash,
    );
    database.run('INSERT OR IGNORE INTO seen VALUES (?)', key);
  } else if (isObservationRow(cells)) {
    database.run('INSERT OR IGNORE INTO seen VALUES (?)', key);
  } else if (isPlantRow(cells)) {
    const fields = Object.fromEntries(PLANT_COLUMNS.map((name, index) => [name, cells[index + 1]]));
    database.run('INSERT OR REPLACE INTO plant VALUES (?, ?, ?)', key, cells[1], JSON.stringify(fields));
  }
}

type JournalRow = readonly [null, Buffer, string, string, string, string, Buffer];

function isJournalRow(cells: readonly Cell[]): cells is JournalRow {
  const [, id, ...others] = cells;
  const hash = others.pop();
  const isBlob = (cell: Cell | undefined, length: number) => Buffer.isBuffer(cell) && cell.length === length;
  return (
    cells.length === 7 &&
    isBlob(id, 16) &&
    isBlob(hash, 32) &&
    others.every((cell) => typeof cell === 'string')
  );
}

function isObservationRow(cells: readonly Cell[]): boolean {
  const [, plant, date] = cells;
  return cells.length === 3 && typeof plant === 'number' && /^\d{4}-\d\d-\d\d$/.test(String(date));
}

const PLANT_COLUMNS = [
  'id',
  'key',
  'kind',
  'seedParent',
  'pollenParent',
  'sown',
  'origin',
  'station',
  'type',
  'note',
  'extra',
] as const;

function isPlantRow(cells: readonly Cell[]): cells is readonly [null, string, ...Cell[]] {
  const texts = cells.slice(1, 1 + PLANT_COLUMNS.length);
  return (
    cells.length === PLANT_COLUMNS.length + 3 &&
    typeof cells[1] === 'string' &&
    isIdLength(cells[1].length) &&
    texts.every((cell) => cell === null || typeof cell === 'string')
  );
}

function unreadableFile(file: string, error: unknown): Error {
  const { code } = error as NodeJS.ErrnoException;
  if (code === undefined) return error as Error;
  const message = code === 'ENOENT' ? `There is no ${file}.` : `${file} cannot be read (${code}).`;
  return new LedgerError('missing', message, 'Name the folder of a ledger with --ledger.', { cause: error });
}
