/** One connection to PostgreSQL. The only file that knows its client. */
import type { Socket } from 'node:net';
import { setTimeout } from 'node:timers/promises';
import pg from 'pg';
import pgPass from 'pgpass';
import { explainServer, isConnectionLost, Silence, unreachable } from './server-errors.js';

const CONNECT_TIMEOUT_MS = 10_000;
/** A server that says that it is starting is asked again after so long, until the time for connecting is over. */
const STARTING_MS = 200;
/** How long a command waits for another machine that is writing. */
const LOCK_TIMEOUT_MS = 20_000;
/** A server is given up once nothing has come or gone for so long while its answer is awaited, however long that is. */
const SILENCE_MS = 15_000;
/** What was sent may lie in buffers on the way, out of our sight. */
const SLOWEST_BYTES_PER_MS = 50;
/** After so long without a question the system looks by itself whether the server is still there. */
const KEEP_ALIVE_MS = 10_000;
/** A machine that went away while it was writing keeps the others from it no longer than this. */
const SILENT_WRITER_MS = 300_000;

/** One connection; once lost it stays so, and with it the transaction that was under way. */
export class Connection {
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
      connectionString: asPostgresMeansIt(address),
      application_name: 'pottag',
      keepAlive: true,
      keepAliveInitialDelayMillis: KEEP_ALIVE_MS,
      connectionTimeoutMillis: CONNECT_TIMEOUT_MS,
      lock_timeout: LOCK_TIMEOUT_MS,
      idle_in_transaction_session_timeout: SILENT_WRITER_MS,
    });
    const connection = new Connection(client, name);
    try {
      client.password ||= await passwordFromFile(client);
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

  /**
   * @param bytes how much is sent along, where it is much
   * @throws LedgerError if the server cannot do it, or cannot be reached
   */
  ask<Row extends object>(sql: string, values: readonly unknown[] = [], bytes = 0): Promise<Row[]> {
    return this.#inTurn(sql, values, SILENCE_MS + bytes / SLOWEST_BYTES_PER_MS);
  }

  /** Asks what is answered once no other machine holds a lock. */
  async wait(sql: string): Promise<void> {
    await this.#inTurn(sql, [], LOCK_TIMEOUT_MS + SILENCE_MS);
  }

  #inTurn<Row extends object>(sql: string, values: readonly unknown[], silenceMs: number): Promise<Row[]> {
    const answer = this.#asked.then(() => this.#ask<Row>(sql, values, silenceMs));
    this.#asked = answer.catch(() => {});
    return answer;
  }

  async #ask<Row extends object>(sql: string, values: readonly unknown[], silenceMs: number): Promise<Row[]> {
    const giveUp = () => this.#socket.destroy(new Silence(silenceMs));
    this.#socket.setTimeout(silenceMs, giveUp);
    try {
      return (await this.client.query<Row>(sql, [...values])).rows;
    } catch (error) {
      if (isConnectionLost(error)) this.close();
      throw explainServer(this.name, error) ?? error;
    } finally {
      this.#socket.setTimeout(0, giveUp);
    }
  }

  close(): void {
    this.#isLost = true;
    this.client.end().catch(() => {});
    this.#socket.unref(); // The server may never answer that.
  }

  /** The client has another one once the connection is encrypted. */
  get #socket(): Socket {
    return this.client.connection.stream as Socket;
  }
}

/** From ~/.pgpass or PGPASSFILE. The client would look there too, but with a warning that it will not for ever. */
async function passwordFromFile(client: pg.Client): Promise<string | undefined> {
  return new Promise((resolve) => pgPass(client, resolve));
}

/**
 * The client would take `require` for `verify-full`, with a warning, unless told to take it as PostgreSQL's own programs do
 * (postgresql.org/docs, libpq, "SSL Support").
 */
function asPostgresMeansIt(address: string): string {
  const url = new URL(address);
  if (!url.searchParams.has('sslmode')) return address;
  url.searchParams.set('uselibpqcompat', 'true');
  return url.href;
}
