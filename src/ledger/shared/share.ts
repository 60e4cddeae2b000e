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
import { markBeingShared, markShared } from './marker.js';
import { namedFiles, withBytes } from './named-files.js';
import { JournalServer, OutcomeUnknown, type ServerTransaction } from './server.js';

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
        for (const file of withBytes(folder, namedFiles(batch))) {
          await transaction.keep(file);
          files++;
        }
      }
      await commitMarked(transaction, folder, address);
      return { entries, files };
    });
  } finally {
    database.rollback();
    database.close();
    server.close();
  }
}

/** The folder is marked before the commit: whenever this is cut short, nothing is written that the server does not get. */
async function commitMarked(
  transaction: ServerTransaction,
  folder: string,
  { name }: SharedAddress,
): Promise<void> {
  const takeMarkBack = markBeingShared(folder, name);
  try {
    await transaction.commit();
  } catch (error) {
    if (error instanceof OutcomeUnknown) throw unfinished(folder, name, error);
    takeMarkBack();
    throw error;
  }
  markShared(folder, name);
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

function unfinished(folder: string, name: string, cause: OutcomeUnknown): LedgerError {
  return new LedgerError(
    cause.code,
    cause.message,
    `When the server is back, finish it: pottag share ${name} --ledger ${folder}. Until then nothing can be recorded in that folder.`,
    { cause },
  );
}

function fieldCopy(folder: string): LedgerError {
  return new LedgerError(
    'unwritable',
    `The ledger in ${folder} is a field copy.`,
    'Share the ledger at home, and merge this one into it. Nothing was changed.',
  );
}
