/**
 * A ledger brought from a folder to a server, to be shared; also the copy of a shared ledger, where the server
 * has lost it.
 */
import { LedgerError } from '../../errors.js';
import { Database } from '../database.js';
import { fieldCopyOf } from '../field-copy.js';
import { type JournalEntry, journalEntries, lastEntry } from '../journal.js';
import { databaseFile } from '../sqlite-ledger.js';
import type { SharedAddress } from './address.js';
import { markShared } from './marker.js';
import { filesWithBytes } from './named-files.js';
import { JournalServer } from './server.js';

/** What was brought there; nothing if all of it was there already. */
export interface Shared {
  readonly entries: number;
  /** Photos and printed sheets. */
  readonly files: number;
}

/** So many entries are sent at once. */
const BATCH = 1000;

/**
 * Brings the sound ledger in `folder` to an empty database, unless it is there already. From then on the
 * folder is a copy, in which nobody writes by itself.
 *
 * @throws LedgerError `unwritable` if there is another ledger at the address, or this one is a field copy
 */
export async function shareLedger(folder: string, address: SharedAddress): Promise<Shared> {
  const server = new JournalServer(address.url, address.name);
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    return await server.write(async (transaction) => {
      database.execute('BEGIN IMMEDIATE'); // Nobody writes in the folder until it is marked.
      if (fieldCopyOf(database) !== undefined) throw fieldCopy(folder);
      if (await server.hasLedger()) {
        if (!(await holdsAll(server, database))) throw taken(address);
        markShared(folder, address.name);
        return { entries: 0, files: 0 };
      }
      await transaction.makeTables();
      let [entries, files] = [0, 0];
      for (const batch of batches(journalEntries(database))) {
        await transaction.append(batch);
        entries += batch.length;
        for (const file of filesWithBytes(folder, batch)) {
          await transaction.keep(file);
          files++;
        }
      }
      await transaction.commit();
      markShared(folder, address.name);
      return { entries, files };
    });
  } finally {
    database.rollback();
    database.close();
    server.close();
  }
}

/** Whether it was shared there before: the command was cut short then, or did not hear how it went. */
async function holdsAll(server: JournalServer, database: Database): Promise<boolean> {
  const last = lastEntry(database);
  const [there] = await server.entriesFrom(last.seq, 1);
  return there !== undefined && Buffer.from(last.hash).equals(there.hash);
}

function* batches(entries: Iterable<JournalEntry>): Generator<JournalEntry[]> {
  let batch: JournalEntry[] = [];
  for (const entry of entries) {
    batch.push(entry);
    if (batch.length < BATCH) continue;
    yield batch;
    batch = [];
  }
  yield batch;
}

function taken({ name }: SharedAddress): LedgerError {
  return new LedgerError(
    'unwritable',
    `There is a ledger at ${name} already.`,
    'Name an empty database. Nothing was changed.',
  );
}

function fieldCopy(folder: string): LedgerError {
  return new LedgerError(
    'unwritable',
    `The ledger in ${folder} is a field copy.`,
    'Share the ledger at home, and merge this one into it. Nothing was changed.',
  );
}
