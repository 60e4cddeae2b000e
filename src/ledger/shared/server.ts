/**
 * A ledger's journal in PostgreSQL, with the photos and printed sheets that it names. The only file that
 * knows PostgreSQL's client.
 *
 * The journal is all that is kept there: what follows from it is derived on every machine for itself
 * (`shared-ledger.ts`).
 */
import { setTimeout } from 'node:timers/promises';
import pg from 'pg';
import { LedgerError } from '../../errors.js';
import type { JournalEntry } from '../journal.js';
import { explainServer, isConnectionLost, unreachable } from './server-errors.js';

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

const CONNECT_TIMEOUT_MS = 10_000;
/** A server that says that it is starting is asked again after so long, until the time for connecting is over. */
const STARTING_MS = 200;
/** How long a command waits for another machine that is writing. */
const LOCK_TIMEOUT_MS = 20_000;
/** A server that does not answer one statement for so long is given up. */
const ANSWER_TIMEOUT_MS = 120_000;
/** A machine that went away while it was writing keeps the others from it no longer than this. */
const SILENT_WRITER_MS = 300_000;

/** One connection; once lost it stays so, and with it the transaction that was under way. */
class Connection {
  #isLost = false;
  /** The question under way: the next one waits for its answer. */
  #asked: Promise<unknown> = Promise.resolve();

  private constructor(
    private readonly client: pg.Client,
    private readonly name: string,
  ) {
    // Without a listener the loss of an idle connection would end the process.
    client.on('error', () => this.close());
  }

  static async open(address: string, name: string): Promise<Connection> {
    const connection = await Connection.#connected(address, name);
    // A server may be set up to answer before what it was told is on its disk.
    await connection.ask(
      "SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'",
    );
    return connection;
  }

  static async #connected(address: string, name: string): Promise<Connection> {
    const untilMs = Date.now() + CONNECT_TIMEOUT_MS;
    for (;;) {
      try {
        return await Connection.#attempt(address, name);
      } catch (error) {
        const isStarting = (error as { code?: string }).code === '57P03';
        // What else fails here is certificates, encryption, an odd address.
        if (!isStarting || Date.now() > untilMs) throw explainServer(name, error) ?? unreachable(name, error);
        await setTimeout(STARTING_MS);
      }
    }
  }

  static async #attempt(address: string, name: string): Promise<Connection> {
    const client = new pg.Client({
      connectionString: address,
      application_name: 'pottag',
      keepAlive: true,
      connectionTimeoutMillis: CONNECT_TIMEOUT_MS,
      query_timeout: ANSWER_TIMEOUT_MS,
      lock_timeout: LOCK_TIMEOUT_MS,
      idle_in_transaction_session_timeout: SILENT_WRITER_MS,
    });
    const connection = new Connection(client, name);
    try {
      await client.connect();
      return connection;
    } catch (error) {
      connection.close();
      throw error;
    }
  }

  get isLost(): boolean {
    return this.#isLost;
  }

  ask<Row extends object>(sql: string, values: readonly unknown[] = []): Promise<Row[]> {
    const answer = this.#asked.then(() => this.#ask<Row>(sql, values));
    this.#asked = answer.catch(() => {});
    return answer;
  }

  async #ask<Row extends object>(sql: string, values: readonly unknown[]): Promise<Row[]> {
    try {
      return (await this.client.query<Row>(sql, [...values])).rows;
    } catch (error) {
      if (isConnectionLost(error)) this.close();
      throw explainServer(this.name, error) ?? error;
    }
  }

  close(): void {
    this.#isLost = true;
    this.client.end().catch(() => {});
  }
}

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

  /** The files whose bytes are not what their hash says. */
  async damagedFiles(): Promise<NamedFile[]> {
    const sql = `SELECT folder, file, sha256 FROM pottag.kept_file WHERE encode(sha256(bytes), 'hex') <> sha256`;
    return this.#ask<NamedFile>(sql);
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
      await connection.ask(`SELECT pg_advisory_xact_lock(${WRITERS_LOCK})`);
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

  async keep({ folder, file, sha256, bytes }: FileWithBytes): Promise<void> {
    await this.connection.ask(
      'INSERT INTO pottag.kept_file (folder, file, sha256, bytes) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING',
      [folder, file, sha256, Buffer.from(bytes)],
    );
  }

  /** @throws LedgerError `unreachable`, saying whether it was recorded or that nobody knows */
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
      throw new LedgerError(
        'unreachable',
        `The connection to ${this.server.name} was lost while it was recording, and whether it did is not known.`,
        'When the server is back, look with pottag show or pottag undo what was recorded last, before you do it again.',
        { cause },
      );
    }
  }
}
