/**
 * An older ledger brought up to date. The journal stays as it is; the tables are made anew from it, by the
 * same account of what each entry means, so one way leads from every older version.
 */
import { channel } from 'node:diagnostics_channel';
import { renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { copyDatabaseFile, type Database } from './database.js';
import { derive, type PlacedKind } from './derive.js';
import { DERIVED_SCHEMA, SCHEMA_VERSION } from './schema.js';

/**
 * Hears of a migration before it begins. A channel, since a ledger is opened in many places, and only the
 * command line tells a person of it.
 */
export const MIGRATIONS = channel('pottag:migration');

export interface Migration {
  readonly folder: string;
  /** How many entries the tables are made from: a hundred thousand take about a second. */
  readonly entries: number;
}

/** So many entries are derived from at once. */
const STRETCH = 10_000;

/** Where the ledger is kept as it was before. */
export function backupFile(folder: string, version: number): string {
  return join(folder, `before-format-${version + 1}.sqlite`);
}

/** Copies the ledger, then migrates it in one transaction: cut short, it is as it was before. */
export function migrate(folder: string, file: string, database: Database): void {
  database.execute('BEGIN IMMEDIATE');
  try {
    const version = Number(database.pragma('user_version'));
    if (version < SCHEMA_VERSION) {
      MIGRATIONS.publish({ folder, entries: lastEntry(database) } satisfies Migration);
      backUp(file, backupFile(folder, version));
      rebuild(database);
      database.execute(`PRAGMA user_version = ${SCHEMA_VERSION}`);
    }
    database.execute('COMMIT');
  } catch (error) {
    database.rollback();
    throw error;
  }
}

/** A consistent copy, by a connection of its own: the one that migrates is within its transaction. */
function backUp(file: string, backup: string): void {
  const copying = `${backup}.${process.pid}`;
  rmSync(copying, { force: true });
  copyDatabaseFile(file, copying);
  renameSync(copying, backup);
}

/** Makes all tables but the journal anew. */
export function rebuild(database: Database): void {
  const sql = "SELECT type, name FROM sqlite_schema WHERE type IN ('view', 'table') AND name <> 'journal'";
  for (const { type, name } of database.all<{ type: string; name: string }>(sql)) {
    database.execute(`DROP ${type} ${name}`);
  }
  database.execute(DERIVED_SCHEMA);
  deriveAll(database, lastEntry(database));
}

function lastEntry(database: Database): number {
  return database.get<{ seq: number | null }>('SELECT max(seq) AS seq FROM journal')?.seq ?? 0;
}

/** Derives the tables, which are empty, from the whole journal. */
export function deriveAll(database: Database, last: number): void {
  for (let first = 1; first <= last; first += STRETCH) {
    const sql = 'SELECT seq, kind FROM journal WHERE seq BETWEEN ? AND ? ORDER BY seq';
    derive(database, database.all<PlacedKind>(sql, first, Math.min(first + STRETCH - 1, last)));
  }
}
