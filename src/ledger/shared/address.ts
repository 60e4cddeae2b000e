/** The address of a ledger that several machines share, and where this machine keeps its copy of it. */
import { createHash } from 'node:crypto';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { InputError } from '../../errors.js';
import { withoutPassword } from '../../wording.js';

export interface SharedAddress {
  /** As it was given: it may hold a password. */
  readonly url: string;
  /** Without a password, to be shown. */
  readonly name: string;
  /** This machine's copy: a ledger's folder. */
  readonly folder: string;
}

/** @throws InputError if it does not name a database */
export function sharedAddress(url: string): SharedAddress {
  const parsed = parsedUrl(url);
  const database = parsed === undefined ? '' : decoded(parsed.pathname.slice(1));
  if (parsed === undefined || database === '' || database.includes('/') || database.includes('\0')) {
    throw new InputError(
      'bad-ledger-address',
      `${withoutPassword(url)} does not name a database.`,
      'Write it as postgres://USER@HOST/DATABASE, for example postgres://wren@shed/garden.',
    );
  }
  refuseUnclearEncryption(parsed, url);
  const host = parsed.searchParams.get('host') ?? parsed.host;
  const place = createHash('sha256').update(`${host}/${database}`).digest('hex').slice(0, 10);
  const folder = `${database.replaceAll(/[^\w.-]/g, '_')}-${place}`;
  return { url, name: withoutPassword(url), folder: join(copiesFolder(), folder) };
}

const ENCRYPTIONS = ['disable', 'require', 'verify-ca', 'verify-full'];

/** Other words of PostgreSQL's leave it open whether the connection is encrypted, or by whom it was certified. */
function refuseUnclearEncryption({ searchParams }: URL, url: string): void {
  const mode = searchParams.get('sslmode');
  if (mode === null) return;
  if (!ENCRYPTIONS.includes(mode)) {
    throw new InputError(
      'bad-ledger-address',
      `${withoutPassword(url)} says sslmode=${mode}, which Pottag does not know.`,
      'Write verify-full to be sure of the server, require only to keep listeners out, disable for no encryption.',
    );
  }
  if (mode === 'verify-ca' && !searchParams.has('sslrootcert')) {
    throw new InputError(
      'bad-ledger-address',
      `${withoutPassword(url)} says sslmode=verify-ca, but not which authority to trust.`,
      'Add its certificate, &sslrootcert=FILE, or write verify-full.',
    );
  }
}

/** Nothing for what is not encoded as in URIs. */
function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return '';
  }
}

function parsedUrl(url: string): URL | undefined {
  try {
    return new URL(url);
  } catch {
    return undefined;
  }
}

/** Where copies of shared ledgers are, a folder each. */
function copiesFolder(): string {
  return process.env.POTTAG_COPIES || join(homedir(), '.pottag');
}
