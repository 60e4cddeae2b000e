/**
 * The database of a ledger as one file, as it is at one moment, while others write.
 */
import { copyDatabaseFile, Database } from './database.js';
import { databaseFile, openLedger } from './sqlite-ledger.js';

/**
 * Copies the database of the ledger in `folder` into the folder `into`, which must hold none.
 *
 * @throws LedgerError if there is no ledger, it cannot be used, or the disk is full
 */
export function copyDatabase(folder: string, into: string): void {
  openLedger(folder, () => new Date()).close(); // Says what is wrong where it cannot be opened.
  copyDatabaseFile(databaseFile(folder), databaseFile(into));
}

/** Makes such a copy, put in place as the database of `folder`, ready for several commands at once. */
export function settleDatabase(folder: string): void {
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    database.pragma('journal_mode = WAL');
  } finally {
    database.close();
  }
}
