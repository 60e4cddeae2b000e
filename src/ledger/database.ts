/**
 * One SQLite connection, with SQLite's failures turned into `LedgerError`s that say what to do.
 * The only file that knows the SQLite binding.
 */
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import type Connection from 'libsql';
import { LedgerError } from '../errors.js';
import { flush } from '../files.js';
import { quote } from '../wording.js';

export type Value = string | number | null | Uint8Array;
type Row = Record<string, Value>;

/** What to do about a damaged ledger. */
export const PUT_BACK_A_COPY =
  'Copy the ledger folder aside before anything else. Then put back your last good copy of it, or save what can be read with "pottag check --rebuild NEW-FOLDER". If it is only the copy of a ledger on a server, move it aside: the next command fetches it anew.';

/** How long a command waits for another one that is writing. */
const BUSY_TIMEOUT_MS = 20_000;

/** Loaded when a ledger is opened and not before: it takes longer than all else that a command needs. */
function binding(): typeof Connection {
  return createRequire(import.meta.url)('libsql') as typeof Connection;
}

/** A statement that answers with bare lists of values, and the names of its columns. */
interface Listing {
  readonly statement: Connection.Statement;
  readonly names: readonly string[];
}

export class Database {
  readonly #connection: Connection.Database;
  readonly #statements = new Map<string, Connection.Statement>();
  readonly #listings = new Map<string, Listing>();

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
    const connection = explained(file, () => new (binding())(file));
    const database = new Database(file, connection);
    // The time-out comes first: every later statement may meet another command's lock.
    database.pragma(`busy_timeout = ${BUSY_TIMEOUT_MS}`);
    // What SQLite needs to promise that a commit outlasts a power cut; the second counts on macOS alone, where
    // an ordinary flush stops at the disk's cache (sqlite.org/pragma.html).
    database.pragma('synchronous = FULL');
    database.pragma('fullfsync = ON');
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
    explained(this.file, () => this.#prepared(sql).run(values));
  }

  /** The first row. The binding hands over a bare list of values sooner, and without a timing of its own among them. */
  get<T>(sql: string, ...values: readonly Value[]): T | undefined {
    return explained(this.file, () => {
      const { statement, names } = this.#listing(sql);
      const list = statement.get(values) as Value[] | undefined;
      if (list === undefined) return undefined;
      const row: Row = {};
      for (let index = 0; index < names.length; index++) row[names[index] as string] = list[index] as Value;
      return row as T;
    });
  }

  all<T>(sql: string, ...values: readonly Value[]): T[] {
    return explained(this.file, () => this.#prepared(sql).all(values)) as T[];
  }

  /** Rows one by one, for tables larger than memory. */
  *iterate<T>(sql: string, ...values: readonly Value[]): Generator<T> {
    const rows = explained(this.file, () => this.#connection.prepare(sql).iterate(values));
    for (;;) {
      const next = explained(this.file, () => rows.next());
      if (next.done) return;
      yield next.value as T;
    }
  }

  close(): void {
    this.#statements.clear();
    this.#listings.clear();
    this.#connection.close();
  }

  #prepared(sql: string): Connection.Statement {
    const known = this.#statements.get(sql);
    if (known !== undefined) return known;
    const statement = this.#connection.prepare(sql);
    this.#statements.set(sql, statement);
    return statement;
  }

  #listing(sql: string): Listing {
    const known = this.#listings.get(sql);
    if (known !== undefined) return known;
    const statement = this.#connection.prepare(sql).raw();
    const listing = { statement, names: statement.columns().map(({ name }) => name) };
    this.#listings.set(sql, listing);
    return listing;
  }
}

/**
 * Copies the database `file`, as it is at one moment while others write, into the new file `copy`, durably.
 * Source: sqlite.org/lang_vacuum.html, "VACUUM INTO".
 */
export function copyDatabaseFile(file: string, copy: string): void {
  const database = Database.openOrCreate(file);
  try {
    database.run('VACUUM INTO ?', copy);
  } finally {
    database.close();
  }
  flush(copy); // SQLite leaves that to the caller here.
}

function explained<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw explain(file, error) ?? error;
  }
}

/** SQLite's primary result codes (sqlite.org/rescode.html); the low byte of an extended one. */
const BUSY = [5, 6];
const FULL = [13];
const DAMAGED = [11, 26];
/** What only damage can be the reason of, though SQLite takes it for an error of the statement (code 1). */
const DAMAGE_WORDS = /^(?:malformed|no such (?:table|column|view|index|function))/;
/** Permission, read-only, input/output error, cannot open, authorisation. */
const UNWRITABLE = [3, 8, 10, 14, 23];

/** SQLite's failure in a grower's words; undefined for our own faults. */
function explain(file: string, error: unknown): LedgerError | undefined {
  const { rawCode = 0, message = '' } = error as { rawCode?: number; message?: string };
  // The binding gives no code when it cannot open the file at all.
  const code = /^ConnectionFailed/.test(message) ? 14 : rawCode & 0xff;
  const options = { cause: error };
  if (BUSY.includes(code)) {
    return new LedgerError(
      'locked',
      `The ledger ${file} has been in use by another command for more than ${BUSY_TIMEOUT_MS / 1000} seconds.`,
      'Wait until the other command ends, then run this one again.',
      options,
    );
  }
  if (FULL.includes(code)) {
    return new LedgerError(
      'full',
      `The disk that holds ${file} is full.`,
      'Free some space, then run the command again; nothing of it was written.',
      options,
    );
  }
  if (DAMAGED.includes(code) || (code === 1 && DAMAGE_WORDS.test(message))) {
    return new LedgerError(
      'damaged',
      `The ledger file ${file} is damaged (${message}).`,
      PUT_BACK_A_COPY,
      options,
    );
  }
  if (UNWRITABLE.includes(code)) {
    return new LedgerError(
      'unwritable',
      `The ledger file ${file} cannot be opened or written (${message}).`,
      'Look whether the folder exists, is yours to write in, and whether the disk is still connected.',
      options,
    );
  }
  return undefined;
}

/** What the ledger itself wrote as JSON. @throws LedgerError if damage has made something else of it */
export function fromJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    const message = `The ledger is damaged: ${quote(text)} should be JSON.`;
    throw new LedgerError('damaged', message, PUT_BACK_A_COPY, { cause: error });
  }
}
