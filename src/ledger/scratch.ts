/** Derived tables made anew beside a ledger, in a folder for temporary files: to be compared, or read as of an earlier time. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Database } from './database.js';
import { DERIVED_SCHEMA } from './schema.js';
import { databaseFile } from './sqlite-ledger.js';

export interface Scratch {
  /** Its derived tables are empty; it has no journal of its own, so what derives or reads them reads the ledger's. */
  readonly database: Database;
  discard(): void;
}

export function scratchBeside(ledgerFolder: string): Scratch {
  const folder = mkdtempSync(join(tmpdir(), 'pottag-scratch-'));
  let database: Database | undefined;
  const discard = () => {
    database?.close();
    rmSync(folder, { recursive: true, force: true });
  };
  try {
    database = Database.openOrCreate(join(folder, 'derived.sqlite'));
    database.pragma('synchronous = OFF');
    database.pragma('journal_mode = OFF'); // Cut short, it is of no use anyway.
    database.execute(DERIVED_SCHEMA);
    database.run('ATTACH ? AS kept', databaseFile(ledgerFolder));
    return { database, discard };
  } catch (error) {
    discard();
    throw error;
  }
}
