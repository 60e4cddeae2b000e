/**
 * One SQLite connection, with SQLite's failures turned into `LedgerError`s that say what to do.
 * The only file that knows the SQLite binding.
 */
import { existsSync } from 'node:fs';
import Connection from 'libsql';
import { LedgerError } from '../errors.js';

export type Value = string | number | null | Uint8Array;
type Row = Record<string, Value>;

/** How long a command waits for another one that is writing. */
const BUSY_TIMEOUT_MS = 20_000;

export class Database {
  readonly #connection: Connection.Database;
  readonly #statements = new Map<string, Connection.Statement>();

  private constructor(
    private readonly file: string,
    connection: Connection.Database,
  ) {
    this.#connection = connection;
  }

  /** Opens an existing database; the binding itself would make a missing one. */
  static open(file: string): Database | undefined {
    return existsSync(file) ? Database.openOrCreate(file) : undefined;
  }

  static openOrCreate(file: string): Database {
    const connection = explained(file, () => new Connection(file));
    const database = new Database(file, connection);
    // The time-out comes first: every later statement may meet another command's lock.
    database.pragma(`busy_timeout = ${BUSY_TIMEOUT_MS}`);
    database.pragma('synchronous = FULL');
    return database;
  }

  /** Sets or asks a pragma; returns its first value. */
  pragma(text: string): Value | undefined {
    const row = explained(this.file, () => this.#connection.pragma(text, { simple: true })) as
      | Row
      | undefined;
    return row === undefined ? undefined : Object.values(row)[0];
  }

  /** Runs statements that return nothing and take no values. */
  execute(sql: string): void {
    explained(this.file, () => this.#connection.exec(sql));
  }

  /** Ends the transaction without a trace; SQLite may already have done so, on a full disk say. */
  rollback(): void {
    if (this.#connection.inTransaction) this.execute('ROLLBACK');
  }

  run(sql: string, ...values: readonly Value[]): void {
    explained(this.file, () => this.#prepared(sql).run(...values));
  }

  get<T>(sql: string, ...values: readonly Value[]): T | undefined {
    const row = explained(this.file, () => this.#prepared(sql).get(...values)) as Row | undefined;
    if (row === undefined) return undefined;
    delete row._metadata; // The binding's own timing, added to single rows only.
    return row as T;
  }

  all<T>(sql: string, ...values: readonly Value[]): T[] {
    return explained(this.file, () => this.#prepared(sql).all(...values)) as T[];
  }

  /** Rows one by one, for tables larger than memory. */
  *iterate<T>(sql: string, ...values: readonly Value[]): Generator<T> {
    const rows = explained(this.file, () => this.#connection.prepare(sql).iterate(...values));
    for (;;) {
      const next = explained(this.file, () => rows.next());
      if (next.done) return;
      yield next.value as T;
    }
  }

  close(): void {
    this.#statements.clear();
    this.#connection.close();
  }

  #prepared(sql: string): Connection.Statement {
    const known = this.#statements.get(sql);
    if (known !== undefined) return known;
    const statement = this.#connection.prepare(sql);
    this.#statements.set(sql, statement);
    return statement;
  }
}

function explained<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw explain(file, error) ?? error;
  }
}

/** SQLite's result codes (sqlite.org/rescode.html) in a grower's words; undefined for our own faults. */
function explain(file: string, error: unknown): LedgerError | undefined {
  const { code = '', message = '' } = error as { code?: string; message?: string };
  const options = { cause: error };
  if (/^SQLITE_(BUSY|LOCKED)/.test(code)) {
    return new LedgerError(
      'locked',
      `The ledger ${file} has been in use by another command for more than ${BUSY_TIMEOUT_MS / 1000} seconds.`,
      'Wait until the other command ends, then run this one again; nothing was written.',
      options,
    );
  }
  if (/^SQLITE_FULL/.test(code)) {
    return new LedgerError(
      'full',
      `The disk that holds ${file} is full.`,
      'Free some space, then run the command again; nothing of it was written.',
      options,
    );
  }
  if (/^SQLITE_(CORRUPT|NOTADB)/.test(code)) {
    return new LedgerError(
      'damaged',
      `The ledger file ${file} is damaged (${message}).`,
      'Copy the ledger folder aside before anything else, then put back your last good copy of it.',
      options,
    );
  }
  const unwritable =
    /^SQLITE_(READONLY|CANTOPEN|PERM|IOERR|AUTH)/.test(code) || /ConnectionFailed/.test(message);
  if (unwritable) {
    return new LedgerError(
      'unwritable',
      `The ledger file ${file} cannot be opened or written (${message}).`,
      'Look whether the folder exists, is yours to write in, and whether the disk is still connected.',
      options,
    );
  }
  return undefined;
}
