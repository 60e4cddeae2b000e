/** PostgreSQL's failures in a grower's words. */
import { LedgerError } from '../../errors.js';

/** Of the operating system (`ECONNREFUSED`), of PostgreSQL (its five-character SQLSTATE), or of the client, which has none. */
type ServerFailure = Error & { readonly code?: string };

const SYSTEM_CODES = new Set([
  'ECONNREFUSED',
  'ECONNRESET',
  'EHOSTUNREACH',
  'ENETUNREACH',
  'ENETDOWN',
  'ENOENT', // A socket that is not there.
  'ENOTFOUND',
  'EAI_AGAIN',
  'EPIPE',
  'ETIMEDOUT',
]);
/** Nothing came or went while an answer was awaited. */
export class Silence extends Error {
  readonly code = 'ETIMEDOUT';

  constructor(ms: number) {
    super(`no answer for ${Math.round(ms / 1000)} seconds`);
  }
}

/** The client's own words for no connection in time. */
const NO_CONNECTION = 'timeout expired';
/** The client's own words where it has no password to give, but is asked for one. */
const NO_PASSWORD = /password must be a (?:non-empty )?string/;
/** The client's own words; it gives no codes. */
const CLIENT_WORDS = /^(?:Connection terminated|timeout expired|Client (?:was closed|has encountered))/;

/**
 * Whether nothing more can come over this connection. Classes of SQLSTATE: 08 connection exception, 57P the
 * server is being stopped or is not yet up, 25P03 and 25P04 it gave up a silent or long writer.
 * Source: postgresql.org/docs, appendix "PostgreSQL Error Codes".
 */
export function isConnectionLost(error: unknown): boolean {
  const { code = '', message = '', errors = [] } = error as ServerFailure & { errors?: readonly unknown[] };
  if (errors.some(isConnectionLost)) return true; // One for each address of the host.
  return SYSTEM_CODES.has(code) || /^(?:08|57P|25P0[34])/.test(code) || CLIENT_WORDS.test(message);
}

/** What to do when the server has lost the ledger, or some of it. */
export const COPIES_HOLD_IT = "Every machine's own copy holds the whole ledger: pottag share --help.";

const NOTHING_WRITTEN = 'Nothing of this command was recorded.';

/** Undefined for our own faults. @param name the server's address without a password */
export function explainServer(name: string, error: unknown): LedgerError | undefined {
  if (error instanceof LedgerError) return error;
  const { code = '', message = '' } = error as ServerFailure;
  const of = (kind: LedgerError['code'], what: string, hint: string) =>
    new LedgerError(kind, what, hint, { cause: error });
  if (/^28/.test(code) || NO_PASSWORD.test(message)) {
    return of(
      'unreachable',
      `The server at ${name} does not know this user or password (${message}).`,
      'Name the user in the address; a password is best kept in the file ~/.pgpass or in PGPASSWORD.',
    );
  }
  if (code === '3D000') {
    return of(
      'unreachable',
      `There is no such database at ${name}.`,
      'Whoever keeps the server has to make it once: createdb NAME.',
    );
  }
  if (isConnectionLost(error)) {
    return unreachable(name, error);
  }
  if (code === '55P03') {
    return of(
      'locked',
      `The ledger at ${name} has been in use by another machine for more than 20 seconds.`,
      'Wait until it is done, then run this command again.',
    );
  }
  if (code === '53300') {
    return of(
      'locked',
      `The server at ${name} takes no more connections (${message}).`,
      `${NOTHING_WRITTEN} Try again in a while; whoever keeps the server can allow more.`,
    );
  }
  if (/^53/.test(code)) {
    return of('full', `The server of ${name} has no room left (${message}).`, NOTHING_WRITTEN);
  }
  if (code === '42501' || code === '25006') {
    return of(
      'unwritable',
      `The ledger at ${name} may not be used so by this user (${message}).`,
      `${NOTHING_WRITTEN} To make a ledger takes CREATE on the database. Who made it lets others use it: GRANT USAGE ON SCHEMA pottag TO them; GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA pottag TO them.`,
    );
  }
  if (/^XX00[12]/.test(code)) {
    return of(
      'damaged',
      `The database at ${name} is damaged (${message}).`,
      `Stop the server and copy its files aside. ${COPIES_HOLD_IT}`,
    );
  }
  if (code === '42P01' || code === '3F000') {
    return of(
      'damaged',
      `The database at ${name} has lost the ledger's tables (${message}).`,
      COPIES_HOLD_IT,
    );
  }
  if (OF_THE_SERVER.test(code)) {
    return of(
      'unreachable',
      `The server at ${name} did not do it (${message}).`,
      `${NOTHING_WRITTEN} The server's own log may say more.`,
    );
  }
  return undefined;
}

/**
 * Classes of SQLSTATE whose cause is the server, its settings or its disk; others, such as a wrong statement or value,
 * are faults of ours.
 */
const OF_THE_SERVER = /^(?:0A|25|40|53|54|55|57|58|F0|XX)/;

export function unreachable(name: string, error: unknown): LedgerError {
  const { code = '', message = '' } = error as ServerFailure;
  const why = message === NO_CONNECTION ? 'no answer' : message || code || 'no answer';
  return new LedgerError(
    'unreachable',
    `The ledger at ${name} cannot be reached (${why}).`,
    `Look whether the server runs and this machine is connected. ${NOTHING_WRITTEN} Where there is no connection, record in a field copy: pottag copy --help.`,
    { cause: error },
  );
}
