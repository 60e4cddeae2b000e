/**
 * The journal of a ledger taken out of it, entry by entry, and a ledger made from such a journal: the same
 * entries under the same hashes, and so the same plants, IDs and observations.
 */
import { LedgerError } from '../errors.js';
import { Database } from './database.js';
import { makeFolder, writeNotice } from './folders.js';
import { followsFrom, insertEntries, type JournalEntry, journalEntries, parseEntry } from './journal.js';
import { rebuild } from './migrate.js';
import { APPLICATION_ID, JOURNAL_SCHEMA, SCHEMA_VERSION } from './schema.js';
import { databaseFile } from './sqlite-ledger.js';

export type { JournalEntry } from './journal.js';

/** All entries of the ledger in `folder`, in order, as they are at one moment. */
export function* readJournal(folder: string): Generator<JournalEntry> {
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    database.execute('BEGIN');
    yield* journalEntries(database);
  } finally {
    database.rollback();
    database.close();
  }
}

/** So many entries are written at once. */
const BATCH = 1000;

/**
 * Makes the ledger of these entries in `folder`, which must hold none.
 * @throws LedgerError `damaged` at the first entry that does not follow from the one before it
 */
export async function makeFromJournal(folder: string, entries: AsyncIterable<JournalEntry>): Promise<void> {
  makeFolder(folder);
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    database.pragma('journal_mode = WAL');
    database.execute('BEGIN IMMEDIATE');
    database.execute(`PRAGMA application_id = ${APPLICATION_ID}`);
    database.execute(JOURNAL_SCHEMA);
    await insertSound(database, entries);
    rebuild(database);
    database.execute(`PRAGMA user_version = ${SCHEMA_VERSION}`);
    database.execute('COMMIT');
  } finally {
    database.rollback();
    database.close();
  }
  writeNotice(folder);
}

async function insertSound(database: Database, entries: AsyncIterable<JournalEntry>): Promise<void> {
  let before: JournalEntry | undefined;
  let batch: JournalEntry[] = [];
  for await (const entry of entries) {
    if (!followsFrom(before, entry) || !isInPlace(entry)) {
      throw new LedgerError(
        'damaged',
        `Entry ${(before?.seq ?? 0) + 1} of the journal, or one before it, was changed, lost or put in another order.`,
        'Take another copy. Nothing was made.',
      );
    }
    before = entry;
    batch.push(entry);
    if (batch.length === BATCH) {
      insertEntries(database, batch);
      batch = [];
    }
  }
  insertEntries(database, batch);
  if (before === undefined) {
    throw new LedgerError('damaged', 'The journal holds no entries.', 'Take another copy. Nothing was made.');
  }
}

/** Every ledger begins with the entry that made it, and with no other. */
function isInPlace(entry: JournalEntry): boolean {
  return parseEntry(entry) !== undefined && (entry.kind === 'ledger-made') === (entry.seq === 1);
}
