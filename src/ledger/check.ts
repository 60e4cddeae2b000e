/**
 * Verifies every invariant of a ledger: SQLite's own, the chain of hashes, the shape of every entry,
 * the derived tables against a replay of the journal, the IDs, and the files that entries name.
 */
import { isUtf8 } from 'node:buffer';
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { LedgerError } from '../errors.js';
import { leftovers } from '../files.js';
import { idOfNumber } from '../ids/allocation.js';
import type { IdLength } from '../ids/plant-id.js';
import { Database, PUT_BACK_A_COPY } from './database.js';
import type { EntryKind, NewEntry } from './entries.js';
import { LAYOUTS_FOLDER, PHOTOS_FOLDER, SHEETS_FOLDER } from './folders.js';
import { followsFrom, type JournalEntry, journalEntries, parseEntry } from './journal.js';
import type { KeptFile } from './kept-files.js';
import { deriveAll } from './migrate.js';
import { DERIVED_SCHEMA, DERIVED_TABLES, JOURNAL_SCHEMA } from './schema.js';
import { type Scratch, scratchBeside } from './scratch.js';
import { databaseFile, openLedger } from './sqlite-ledger.js';
import { droppedCommits } from './wal.js';

/** `damage` concerns the ledger itself, `file` a photo or printed sheet beside it. */
export interface Finding {
  readonly kind: 'damage' | 'file';
  /** The entry, table or file concerned. */
  readonly where: string;
  readonly what: string;
}

/** What may be known but is nothing wrong. */
export interface Remark {
  /** A file, from the ledger's folder on. */
  readonly where: string;
  readonly what: string;
}

export interface CheckReport {
  readonly entries: number;
  readonly plants: number;
  readonly tags: number;
  /** Without those taken back. */
  readonly observations: number;
  readonly findings: readonly Finding[];
  readonly remarks: readonly Remark[];
}

/** More findings than this say nothing more; the rest is counted in the last one. */
const MOST_FINDINGS = 100;

/** Checks the ledger in `folder`. @throws LedgerError if it cannot be opened at all, or opening it would lose something */
export function checkLedger(folder: string, onProgress: (done: number, of: number) => void): CheckReport {
  const remarks = [...checkWriteAhead(folder), ...lookForLeftovers(folder)];
  const { idLength, close } = openForCheck(folder);
  close();
  const database = Database.openOrCreate(databaseFile(folder));
  let scratch: Scratch | undefined;
  try {
    scratch = scratchBeside(folder);
    const replayed = scratch.database;
    database.execute('BEGIN'); // One state throughout, whatever is written meanwhile.
    const findings = [...checkPages(database), ...checkSchema(database)];
    const unreadable = [...checkText(database)];
    findings.push(...unreadable);
    // The binding ends the process on text that is not UTF-8, so the rest waits until there is none.
    if (unreadable.length === 0) {
      const named = new Set<string>();
      findings.push(...checkEntries(database, { folder, idLength, named }, onProgress));
      findings.push(...replay(database, replayed));
      findings.push(...compareTables(database, replayed));
      remarks.push(...lookForUnnamed(folder, named));
    }
    return { ...counts(database), findings: atMost(findings), remarks };
  } finally {
    scratch?.discard();
    database.rollback();
    database.close();
  }
}

function openForCheck(folder: string): { idLength: IdLength; close: () => void } {
  const ledger = openLedger(folder, () => new Date());
  return { idLength: ledger.idLength, close: () => ledger.close() };
}

function counts(database: Database): Omit<CheckReport, 'findings' | 'remarks'> {
  const count = (table: string) => database.get<{ n: number }>(`SELECT count(*) AS n FROM ${table}`)?.n ?? 0;
  return {
    entries: count('journal'),
    plants: count('plant'),
    tags: count('tag'),
    observations: count('standing_observation'),
  };
}

function* checkPages(database: Database): Generator<Finding> {
  for (const row of database.all<Record<string, string>>('PRAGMA integrity_check')) {
    const what = Object.values(row)[0] ?? '';
    if (what !== 'ok') yield { kind: 'damage', where: 'database file', what };
  }
}

/** Every table, view, index and trigger, as it was defined. */
function* checkSchema(database: Database): Generator<Finding> {
  const defined = Database.openOrCreate(':memory:');
  try {
    defined.execute(JOURNAL_SCHEMA + DERIVED_SCHEMA);
    const made = definitions(database);
    for (const [name, sql] of definitions(defined)) {
      if (made.get(name) === sql) continue;
      const what = made.has(name) ? 'it is not defined as it was made' : 'it has been removed';
      yield { kind: 'damage', where: name, what };
    }
  } finally {
    defined.close();
  }
}

/** Kind and name → SQL, in which line ends and spaces do not count. */
function definitions(database: Database): Map<string, string> {
  const rows = database.all<{ name: ArrayBuffer; sql: ArrayBuffer }>(
    `SELECT CAST(type || ' ' || name AS BLOB) AS name, CAST(sql AS BLOB) AS sql FROM sqlite_schema
     WHERE sql IS NOT NULL`,
  );
  const text = (bytes: ArrayBuffer) => Buffer.from(bytes).toString().replaceAll(/\s+/g, ' ');
  return new Map(rows.map(({ name, sql }) => [text(name), text(sql)]));
}

/** Text that is not UTF-8, looked for byte by byte. */
function* checkText(database: Database): Generator<Finding> {
  for (const table of ['journal', ...Object.keys(DERIVED_TABLES)]) {
    const columns = database
      .all<{ name: string; type: string }>(`PRAGMA table_info(${table})`)
      .filter(({ type }) => type === 'TEXT')
      .map(({ name }) => name);
    if (columns.length === 0) continue;
    // A newline between cells, so that no cell completes another's last character.
    const whole = columns.map((name) => `coalesce(${name}, '')`).join(' || char(10) || ');
    let row = 0;
    for (const { text } of database.iterate<{ text: ArrayBuffer }>(
      `SELECT CAST(${whole} AS BLOB) AS text FROM ${table}`,
    )) {
      row++;
      if (isUtf8(text)) continue;
      yield { kind: 'damage', where: `table ${table}, row ${row}`, what: 'its text is not readable' };
    }
  }
}

interface Surroundings {
  readonly folder: string;
  readonly idLength: IdLength;
  /** Gathers the files that entries name, from the ledger's folder on. */
  readonly named: Set<string>;
}

/** Goes through the journal: the chain, the shape of every entry, and what it says. */
function* checkEntries(
  database: Database,
  surroundings: Surroundings,
  onProgress: (done: number, of: number) => void,
): Generator<Finding> {
  const total = counts(database).entries;
  let before: JournalEntry | undefined;
  for (const row of journalEntries(database)) {
    const where = `entry ${row.seq}`;
    if (!followsFrom(before, row)) {
      yield {
        kind: 'damage',
        where,
        what: 'it, or an entry before it, was changed, lost or put in another order',
      };
    }
    before = row;
    const entry = parseEntry(row);
    if (entry === undefined) {
      yield { kind: 'damage', where, what: `its content is not that of a "${row.kind}" entry` };
      continue;
    }
    yield* checkEntry(entry, where, surroundings);
    yield* checkReferences(entry, row.seq, database);
    onProgress(row.seq, total);
  }
}

/** Derives the tables anew into `scratch`. */
function* replay(database: Database, scratch: Database): Generator<Finding> {
  try {
    deriveAll(scratch, counts(database).entries);
  } catch (error) {
    const what = `its entries contradict one another (${(error as Error).message})`;
    yield { kind: 'damage', where: 'journal', what };
  }
}

function* checkEntry(
  entry: NewEntry,
  where: string,
  { folder, idLength, named }: Surroundings,
): Generator<Finding> {
  const checkNamed = (inFolder: string, kept: KeptFile) => {
    named.add(`${inFolder}/${kept.file}`);
    return checkFile(join(folder, inFolder), kept, where);
  };
  switch (entry.kind) {
    case 'plant-enrolled': {
      const expected = idOfNumber(entry.body.number, idLength);
      if (entry.body.id !== expected) {
        const what = `plant ${entry.body.number} has the ID ${entry.body.id}, not ${expected}`;
        yield { kind: 'damage', where, what };
      }
      return;
    }
    case 'observed':
      if (entry.body.photo !== null) yield* checkNamed(PHOTOS_FOLDER, entry.body.photo);
      return;
    case 'sheet-printed':
      yield* checkNamed(SHEETS_FOLDER, entry.body);
      return;
    default:
      return;
  }
}

/** What an entry may take back, or put right, by naming it. */
export const MAY_NAME: Partial<Record<EntryKind, readonly EntryKind[]>> = {
  reassigned: ['observed'],
  withdrawn: ['tag-voided', 'observed', 'exchanged', 'reassigned', 'doubted'],
  restored: ['tag-voided', 'observed', 'exchanged', 'reassigned', 'doubted'],
};

/** What an entry says of those before it. */
function* checkReferences(entry: NewEntry, seq: number, database: Database): Generator<Finding> {
  const where = `entry ${seq}`;
  if ((entry.kind === 'changed' || entry.kind === 'merged') && entry.body.entries >= seq) {
    yield { kind: 'damage', where, what: 'it is about more entries than there are before it' };
  }
  if (!('entry' in entry.body)) return;
  const sql = "SELECT kind FROM journal WHERE id = unhex(replace(?, '-', '')) AND seq < ?";
  const named = database.get<{ kind: EntryKind }>(sql, entry.body.entry, seq);
  if (named !== undefined && MAY_NAME[entry.kind]?.includes(named.kind)) return;
  const what = `it is about ${named === undefined ? 'an entry that is not there' : `a "${named.kind}" entry`}`;
  yield { kind: 'damage', where, what };
}

function* checkFile(folder: string, kept: KeptFile, where: string): Generator<Finding> {
  const file = join(folder, kept.file);
  if (!existsSync(file)) {
    yield { kind: 'file', where: file, what: `the file is missing (${where} names it)` };
  } else if (createHash('sha256').update(readFileSync(file)).digest('hex') !== kept.sha256) {
    yield { kind: 'file', where: file, what: `the file has been changed since ${where}` };
  }
}

/** Each derived table, row by row, against the replayed one. */
function* compareTables(database: Database, replayed: Database): Generator<Finding> {
  for (const [table, order] of Object.entries(DERIVED_TABLES)) {
    const sql = `SELECT * FROM ${table} ORDER BY ${order}`;
    const kept = database.iterate<object>(sql);
    const made = replayed.iterate<object>(sql);
    for (let row = 1; ; row++) {
      const [a, b] = [kept.next(), made.next()];
      if (a.done && b.done) break;
      if (JSON.stringify(a.value) === JSON.stringify(b.value)) continue;
      yield { kind: 'damage', where: `table ${table}, row ${row}`, what: 'it is not what the journal says' };
      break;
    }
    kept.return(undefined);
    made.return(undefined);
  }
}

/** @throws LedgerError before SQLite would drop what damage has made unreadable to it */
function* checkWriteAhead(folder: string): Generator<Remark> {
  const walFile = `${databaseFile(folder)}-wal`;
  const dropped = droppedCommits(walFile);
  if (dropped > 1) {
    const message = `The file ${walFile} is damaged, and ${dropped} writes in it would be lost.`;
    throw new LedgerError('damaged', message, PUT_BACK_A_COPY);
  }
  if (dropped === 1) {
    const what = 'its last write is not whole: a power cut ended it before it was done, or it is damaged';
    yield { where: basename(walFile), what };
  }
}

function* lookForLeftovers(folder: string): Generator<Remark> {
  for (const inFolder of ['', PHOTOS_FOLDER, SHEETS_FOLDER, LAYOUTS_FOLDER]) {
    for (const name of leftovers(join(folder, inFolder))) {
      yield { where: join(inFolder, name), what: 'a command that was ended left it; it can be deleted' };
    }
  }
}

function* lookForUnnamed(folder: string, named: ReadonlySet<string>): Generator<Remark> {
  for (const inFolder of [PHOTOS_FOLDER, SHEETS_FOLDER].filter((name) => existsSync(join(folder, name)))) {
    for (const name of readdirSync(join(folder, inFolder)).sort()) {
      if (name.startsWith('.') || named.has(`${inFolder}/${name}`)) continue;
      yield {
        where: join(inFolder, name),
        what: 'no entry names it; what it was kept for was never recorded',
      };
    }
  }
}

function atMost(findings: readonly Finding[]): readonly Finding[] {
  if (findings.length <= MOST_FINDINGS) return findings;
  const more = findings.length - MOST_FINDINGS;
  const last: Finding = {
    kind: 'damage',
    where: 'journal',
    what: `and ${more} more findings of the same kinds`,
  };
  return [...findings.slice(0, MOST_FINDINGS), last];
}
