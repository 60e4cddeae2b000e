/**
 * Verifies every invariant of a ledger: SQLite's own, the chain of hashes, the shape of every entry,
 * the derived tables against a replay of the journal, the IDs, and the files that entries name.
 */
import { isUtf8 } from 'node:buffer';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { idOfNumber } from '../ids/allocation.js';
import type { IdLength } from '../ids/plant-id.js';
import { Database } from './database.js';
import type { EntryKind, NewEntry } from './entries.js';
import { PHOTOS_FOLDER, SHEETS_FOLDER } from './folders.js';
import { followsFrom, type JournalEntry, journalEntries, parseEntry } from './journal.js';
import { deriveAll } from './migrate.js';
import { DERIVED_SCHEMA, DERIVED_TABLES } from './schema.js';
import { databaseFile, openLedger } from './sqlite-ledger.js';

/** `damage` concerns the ledger itself, `file` a photo or printed sheet beside it. */
export interface Finding {
  readonly kind: 'damage' | 'file';
  /** The entry, table or file concerned. */
  readonly where: string;
  readonly what: string;
}

export interface CheckReport {
  readonly entries: number;
  readonly plants: number;
  readonly tags: number;
  readonly observations: number;
  readonly findings: readonly Finding[];
}

/** More findings than this say nothing more; the rest is counted in the last one. */
const MOST_FINDINGS = 100;

/** Checks the ledger in `folder`. @throws LedgerError if it cannot be opened at all */
export function checkLedger(folder: string, onProgress: (done: number, of: number) => void): CheckReport {
  const { idLength, close } = openForCheck(folder);
  close();
  const database = Database.openOrCreate(databaseFile(folder));
  const scratch = mkdtempSync(join(tmpdir(), 'pottag-check-'));
  let replayed: Database | undefined;
  try {
    replayed = Database.openOrCreate(join(scratch, 'replayed.sqlite'));
    replayed.pragma('synchronous = OFF');
    replayed.execute(DERIVED_SCHEMA);
    // It has no journal of its own, so what derives its tables reads the ledger's.
    replayed.run('ATTACH ? AS kept', databaseFile(folder));
    database.execute('BEGIN'); // One state throughout, whatever is written meanwhile.
    const findings = [...checkPages(database), ...checkProtection(database)];
    const unreadable = [...checkText(database)];
    findings.push(...unreadable);
    // The binding ends the process on text that is not UTF-8, so the rest waits until there is none.
    if (unreadable.length === 0) {
      findings.push(...checkEntries(database, folder, idLength, onProgress));
      findings.push(...replay(database, replayed));
      findings.push(...compareTables(database, replayed));
    }
    return { ...counts(database), findings: atMost(findings) };
  } finally {
    replayed?.close();
    database.rollback();
    database.close();
    rmSync(scratch, { recursive: true, force: true });
  }
}

function openForCheck(folder: string): { idLength: IdLength; close: () => void } {
  const ledger = openLedger(folder, () => new Date());
  return { idLength: ledger.idLength, close: () => ledger.close() };
}

function counts(database: Database): Omit<CheckReport, 'findings'> {
  const count = (table: string) => database.get<{ n: number }>(`SELECT count(*) AS n FROM ${table}`)?.n ?? 0;
  return {
    entries: count('journal'),
    plants: count('plant'),
    tags: count('tag'),
    observations: count('observation'),
  };
}

function* checkPages(database: Database): Generator<Finding> {
  for (const row of database.all<Record<string, string>>('PRAGMA integrity_check')) {
    const what = Object.values(row)[0] ?? '';
    if (what !== 'ok') yield { kind: 'damage', where: 'database file', what };
  }
}

function* checkProtection(database: Database): Generator<Finding> {
  const triggers = database.all<{ name: string }>("SELECT name FROM sqlite_schema WHERE type = 'trigger'");
  for (const name of ['journal_keeps_entries', 'journal_keeps_content']) {
    if (triggers.some((trigger) => trigger.name === name)) continue;
    yield { kind: 'damage', where: 'journal', what: `its protection ${name} has been removed` };
  }
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

/** Goes through the journal: the chain, the shape of every entry, and what it says. */
function* checkEntries(
  database: Database,
  folder: string,
  idLength: IdLength,
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
    yield* checkEntry(entry, where, folder, idLength);
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

function* checkEntry(entry: NewEntry, where: string, folder: string, idLength: IdLength): Generator<Finding> {
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
      if (entry.body.photo !== null) yield* checkFile(join(folder, PHOTOS_FOLDER), entry.body.photo, where);
      return;
    case 'sheet-printed':
      yield* checkFile(join(folder, SHEETS_FOLDER), entry.body, where);
      return;
    default:
      return;
  }
}

/** What an entry may take back, or put right, by naming it. */
const MAY_NAME: Partial<Record<EntryKind, readonly EntryKind[]>> = {
  reassigned: ['observed'],
  withdrawn: ['tag-voided', 'observed', 'exchanged', 'reassigned', 'doubted'],
  restored: ['tag-voided', 'observed', 'exchanged', 'reassigned', 'doubted'],
};

/** What an entry says of those before it. */
function* checkReferences(entry: NewEntry, seq: number, database: Database): Generator<Finding> {
  const where = `entry ${seq}`;
  if (entry.kind === 'changed' && entry.body.entries >= seq) {
    yield { kind: 'damage', where, what: 'it is about more entries than there are before it' };
  }
  if (!('entry' in entry.body)) return;
  const sql = "SELECT kind FROM journal WHERE id = unhex(replace(?, '-', '')) AND seq < ?";
  const named = database.get<{ kind: EntryKind }>(sql, entry.body.entry, seq);
  if (named !== undefined && MAY_NAME[entry.kind]?.includes(named.kind)) return;
  const what = `it is about ${named === undefined ? 'an entry that is not there' : `a "${named.kind}" entry`}`;
  yield { kind: 'damage', where, what };
}

function* checkFile(
  folder: string,
  kept: { file: string; sha256: string },
  where: string,
): Generator<Finding> {
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
