/**
 * Where a ledger is: in a folder of this machine, or on a server, shared by several machines.
 */
import type { IdLength } from '../ids/plant-id.js';
import type { Finding } from './check.js';
import type { Ledger } from './ledger.js';
import { refuseSharedCopy } from './shared/marker.js';
import { type Clock, createLedger, findLedger, openLedger } from './sqlite-ledger.js';

export interface LedgerPlace {
  /** As a person names it; never with a password. */
  readonly name: string;
  /** The ledger's own folder, or that of this machine's copy of a shared one. */
  readonly folder: string;
  readonly isShared: boolean;
  /** Undefined if there is no ledger. */
  find(now: Clock): Promise<Ledger | undefined>;
  /** @throws LedgerError `missing` if there is no ledger */
  open(now: Clock): Promise<Ledger>;
  /** Brings this machine's copy of a shared ledger up to date, with all files, for what reads the folder itself. */
  bringUpToDate(now: Clock): Promise<void>;
  /** What of a shared ledger is on the server not as it is in the copy; nothing for one in a folder. */
  checkServer(): Promise<readonly Finding[]>;
  /** Makes a new, empty ledger. */
  create(idLength: IdLength, by: string, now: Clock): Promise<Ledger>;
}

/** @param name a folder, or an address such as `postgres://wren@shed/garden` */
export async function ledgerPlace(name: string): Promise<LedgerPlace> {
  return isAddress(name) ? onServer(name) : inFolder(name);
}

function inFolder(folder: string): LedgerPlace {
  return {
    name: folder,
    folder,
    isShared: false,
    async find(now) {
      refuseSharedCopy(folder);
      return findLedger(folder, now);
    },
    async open(now) {
      refuseSharedCopy(folder);
      return openLedger(folder, now);
    },
    create: (idLength, by, now) => createLedger(folder, idLength, by, now),
    bringUpToDate: async () => {},
    checkServer: async () => [],
  };
}

async function onServer(url: string): Promise<LedgerPlace> {
  const { sharedAddress } = await import('./shared/address.js');
  const address = sharedAddress(url);
  const shared = () => import('./shared/shared-ledger.js');
  return {
    name: address.name,
    folder: address.folder,
    isShared: true,
    find: async (now) => (await shared()).findSharedLedger(address, now),
    open: async (now) => (await shared()).openSharedLedger(address, now),
    create: async (idLength, by, now) => (await shared()).createSharedLedger(address, idLength, by, now),
    bringUpToDate: async (now) => (await shared()).bringCopyUpToDate(address, now),
    checkServer: async () => (await import('./shared/check-server.js')).checkServer(address),
  };
}

/** A URI as PostgreSQL's own programs take it (postgresql.org/docs, libpq, "Connection URIs"). */
function isAddress(name: string): boolean {
  return /^postgres(?:ql)?:\/\//i.test(name);
}
