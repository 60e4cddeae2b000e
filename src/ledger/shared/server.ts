/**
 * A ledger's journal in PostgreSQL, with the photos and printed sheets that it names.
 *
 * The journal is all that is kept there: what follows from it is derived on every machine for itself
 * (`shared-ledger.ts`).
 */
import { LedgerError } from '../../errors.js';
import type { JournalEntry } from '../journal.js';
import { Connection } from './connection.js';

/** A photo or a printed sheet, as an entry of the journal names it. */
export interface NamedFile {
  readonly folder: string;
  readonly file: string;
  readonly sha256: string;
}

export type FileWithBytes = NamedFile & { readonly bytes: Uint8Array };

/** Of the tables below. A database with a higher one was made by a newer Pottag. */
const FORMAT = 1;

const TABLES = `
  CREATE SCHEMA pottag;
  CREATE TABLE pottag.format (version integer NOT NULL);
  INSERT INTO pottag.format VALUES (${FORMAT});
  CREATE TABLE pottag.journal (
    seq  bigint PRIMARY KEY,
    id   uuid NOT NULL UNIQUE,
    at   text NOT NULL,
    by   text NOT NULL,
    kind text NOT NULL,
    body text NOT NULL,
    hash bytea NOT NULL CHECK (octet_length(hash) = 32)
  );
  CREATE TABLE pottag.kept_file (
    folder text NOT NULL,
    file   text NOT NULL,
    sha256 text NOT NULL,
    bytes  bytea NOT NULL,
    PRIMARY KEY (folder, file)
  );
  CREATE FUNCTION pottag.keep() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'what is in a ledger is not changed or removed'; END $$;
  CREATE TRIGGER keep BEFORE UPDATE OR DELETE OR TRUNCATE ON pottag.journal EXECUTE FUNCTION pottag.keep();
  CREATE TRIGGER keep BEFORE UPDATE OR DELETE OR TRUNCATE ON pottag.kept_file EXECUTE FUNCTION pottag.keep();
`;

/** Whoever writes holds this lock until the end of the transaction: the letters `Pott`. */
const WRITERS_LOCK = 0x506f7474;
/** Bytes of so many files are hashed for one answer. */
const FILES_AT_ONCE = 20;

export class JournalServer {
  #connection: Promise<Connection> | undefined;

  /** @param address with the password, if it has one; @param name without, to be shown */
  constructor(
    private readonly address: string,
    readonly name: string,
  ) {}

  /** @throws LedgerError `newer` */
  async hasLedger(): Promise<boolean> {
    const sql = "SELECT to_regclass('pottag.format') IS NOT NULL AS made";
    const [row] = await this.#ask<{ made: boolean }>(sql);
    if (row?.made !== true) return false;
    const [format] = await this.#ask<{ version: number }>('SELECT version FROM pottag.format');
    if (format === undefined || format.version > FORMAT) {
      throw new LedgerError(
        'newer',
        `The ledger at ${this.name} was made by a newer Pottag.`,
        'Use the newer Pottag on it; nothing was changed.',
      );
    }
    return true;
  }

  /** Up to `limit` entries, in order, from the number `first` on. */
  async entriesFrom(first: number, limit: number): Promise<JournalEntry[]> {
    type Row = Omit<JournalEntry, 'seq'> & { readonly seq: string };
    const rows = await this.#ask<Row>(
      'SELECT seq, id, at, by, kind, body, hash FROM pottag.journal WHERE seq >= $1 ORDER BY seq LIMIT $2',
      [first, limit],
    );
    return rows.map((row) => ({ ...row, seq: Number(row.seq) }));
  }

  /** Undefined if it was never brought there. */
  async fileBytes({ folder, file }: NamedFile): Promise<Uint8Array | undefined> {
    const sql = 'SELECT bytes FROM pottag.kept_file WHERE folder = $1 AND file = $2';
    const [row] = await this.#ask<{ bytes: Uint8Array }>(sql, [folder, file]);
    return row?.bytes;
  }

  /** All files that are there. */
  async files(): Promise<NamedFile[]> {
    return this.#ask<NamedFile>('SELECT folder, file, sha256 FROM pottag.kept_file');
  }

  /** The files whose bytes are not what their hash says; a few at a time, for a long silence is taken for a lost connection. */
  async damagedFiles(): Promise<NamedFile[]> {
    const sql = `
      SELECT folder, file, sha256, encode(sha256(bytes), 'hex') = sha256 AS "isSound"
      FROM (SELECT * FROM pottag.kept_file WHERE (folder, file) > ($1, $2) ORDER BY folder, file LIMIT $3) AS next
      ORDER BY folder, file`;
    const damaged: NamedFile[] = [];
    let last: Pick<NamedFile, 'folder' | 'file'> | undefined = { folder: '', file: '' };
    while (last !== undefined) {
      const values = [last.folder, last.file, FILES_AT_ONCE];
      const files: (NamedFile & { isSound: boolean })[] = await this.#ask(sql, values);
      damaged.push(...files.filter(({ isSound }) => !isSound));
      last = files.at(-1);
    }
    return damaged;
  }

  /**
   * Runs `work` in a transaction that no other writer can enter, on whatever machine. What it appended is
   * durable once `commit` has resolved; without that nothing of it stays.
   */
  async write<T>(work: (transaction: ServerTransaction) => Promise<T>): Promise<T> {
    return this.#alone((connection) => work(new ServerTransaction(connection, this)));
  }

  /** Whether an entry is there; waits for a writer whose outcome is not known yet. */
  async isRecorded(id: string): Promise<boolean> {
    return this.#alone(async (connection) => {
      const rows = await connection.ask('SELECT 1 FROM pottag.journal WHERE id = $1', [id]);
      return rows.length > 0;
    });
  }

  /** Runs `work` between BEGIN and ROLLBACK, which does nothing after a COMMIT, while no other machine writes. */
  async #alone<T>(work: (connection: Connection) => Promise<T>): Promise<T> {
    const connection = await this.#connected();
    // Whatever the server's default: what is read has to be as it is once the lock is held, not when it was asked for.
    await connection.ask('BEGIN ISOLATION LEVEL READ COMMITTED');
    try {
      await connection.wait(`SELECT pg_advisory_xact_lock(${WRITERS_LOCK})`);
      return await work(connection);
    } finally {
      await connection.ask('ROLLBACK').catch(() => connection.close());
    }
  }

  close(): void {
    this.#connection?.then((connection) => connection.close()).catch(() => {});
    this.#connection = undefined;
  }

  async #ask<Row extends object>(sql: string, values?: readonly unknown[]): Promise<Row[]> {
    return (await this.#connected()).ask<Row>(sql, values);
  }

  /** The connection in use, or a new one where that was lost. */
  async #connected(): Promise<Connection> {
    const before = this.#connection;
    const isUsable = (await before?.catch(() => undefined))?.isLost === false;
    // Unless another call has made a new one meanwhile.
    if (!isUsable && this.#connection === before) {
      this.#connection = Connection.open(this.address, this.name);
    }
    return this.#connection as Promise<Connection>;
  }
}

/** So many entries or files are sent at once. */
const BATCH = 1000;

/** What was to be recorded may be there or not. */
export class OutcomeUnknown extends LedgerError {}

export class ServerTransaction {
  #lastId: string | undefined;

  constructor(
    private readonly connection: Connection,
    private readonly server: JournalServer,
  ) {}

  /** Makes the tables, in a database that holds no ledger. @throws LedgerError unless its texts are in UTF-8 */
  async makeTables(): Promise<void> {
    const [row] = await this.connection.ask<{ encoding: string }>(
      "SELECT current_setting('server_encoding') AS encoding",
    );
    if (row?.encoding !== 'UTF8') {
      throw new LedgerError(
        'unwritable',
        `The database at ${this.server.name} keeps text as ${row?.encoding}, which not every name fits in.`,
        "Make a database for the ledger with the encoding UTF8: CREATE DATABASE garden ENCODING 'UTF8' TEMPLATE template0.",
      );
    }
    await this.connection.ask(TABLES);
  }

  async append(entries: readonly JournalEntry[]): Promise<void> {
    for (let first = 0; first < entries.length; first += BATCH) {
      const batch = entries.slice(first, first + BATCH);
      await this.connection.ask(
        `INSERT INTO pottag.journal (seq, id, at, by, kind, body, hash)
         SELECT seq, id, at, by, kind, body, decode(hash, 'hex')
         FROM unnest($1::bigint[], $2::uuid[], $3::text[], $4::text[], $5::text[], $6::text[], $7::text[])
           AS entry (seq, id, at, by, kind, body, hash)`,
        [
          batch.map(({ seq }) => seq),
          batch.map(({ id }) => id),
          batch.map(({ at }) => at),
          batch.map(({ by }) => by),
          batch.map(({ kind }) => kind),
          batch.map(({ body }) => body),
          batch.map(({ hash }) => Buffer.from(hash).toString('hex')),
        ],
      );
    }
    this.#lastId = entries.at(-1)?.id ?? this.#lastId;
  }

  /** Those of the files that are not there yet. */
  async lacking(files: readonly NamedFile[]): Promise<NamedFile[]> {
    return this.connection.ask<NamedFile>(
      `SELECT folder, file, sha256 FROM unnest($1::text[], $2::text[], $3::text[]) AS named (folder, file, sha256)
       WHERE (folder, file) NOT IN (SELECT folder, file FROM pottag.kept_file)`,
      [files.map(({ folder }) => folder), files.map(({ file }) => file), files.map(({ sha256 }) => sha256)],
    );
  }

  async keep({ folder, file, sha256, bytes }: FileWithBytes): Promise<void> {
    await this.connection.ask(
      'INSERT INTO pottag.kept_file (folder, file, sha256, bytes) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING',
      [folder, file, sha256, Buffer.from(bytes)],
      bytes.length,
    );
  }

  /** @throws OutcomeUnknown; any other error if nothing of it was recorded */
  async commit(): Promise<void> {
    try {
      await this.connection.ask('COMMIT');
    } catch (error) {
      if (!(error instanceof LedgerError) || error.code !== 'unreachable') throw error;
      if (!(await this.#wasRecorded(error))) throw error;
    }
  }

  /** The answer to COMMIT was lost: it may have been carried out all the same. */
  async #wasRecorded(cause: LedgerError): Promise<boolean> {
    if (this.#lastId === undefined) return true;
    try {
      return await this.server.isRecorded(this.#lastId);
    } catch {
      throw new OutcomeUnknown(
        'unreachable',
        `The connection to ${this.server.name} was lost while it was recording, and whether it did is not known.`,
        'When the server is back, look with pottag show or pottag undo what was recorded last, before you do it again.',
        { cause },
      );
    }
  }
}
