/**
 * What every command is given: the settings of the call, the clock, who is calling.
 */
import { userInfo } from 'node:os';
import type { Command } from 'commander';
import type { Ledger } from '../ledger/ledger.js';
import { MIGRATIONS, type Migration } from '../ledger/migrate.js';
import { type LedgerPlace, ledgerPlace } from '../ledger/place.js';
import { counted } from '../wording.js';
import { Console, type Settings } from './console.js';

/** 0 done; 1 done, but something needs a person; 2 the call or its input was wrong; 3 no usable ledger. */
export type ExitCode = 0 | 1 | 2 | 3;

export interface Context {
  readonly console: Console;
  readonly place: LedgerPlace;
  /** The ledger's own folder, or that of this machine's copy of a shared one. */
  readonly ledgerFolder: string;
  readonly now: () => Date;
  /** The local calendar day in ISO 8601. */
  readonly today: string;
  /** Who writes, unless a command is told otherwise. */
  readonly by: string;
  /** Opens the ledger for the time of `work`. @throws LedgerError if there is none */
  withLedger<T>(work: (ledger: Ledger) => Promise<T>): Promise<T>;
}

export const DEFAULT_LEDGER = './pottag-ledger';

/** What a command's action calls: `run` returns the exit code of the process. */
export type Run = (command: Command, run: (context: Context) => Promise<ExitCode>) => Promise<void>;

export async function makeContext(settings: Settings): Promise<Context> {
  const now = () => new Date();
  const place = await ledgerPlace(settings.ledger || DEFAULT_LEDGER);
  const console = new Console(settings);
  MIGRATIONS.subscribe((migration) => tellOfMigration(console, migration as Migration));
  return {
    console,
    place,
    ledgerFolder: place.folder,
    now,
    today: localDay(now()),
    get by() {
      return whoever();
    },
    async withLedger(work) {
      const ledger = await place.open(now);
      try {
        return await work(ledger);
      } finally {
        ledger.close();
      }
    },
  };
}

/** So many entries are brought up to date in a few seconds. */
const SOON_MIGRATED = 200_000;

function tellOfMigration(console: Console, { folder, entries }: Migration): void {
  if (entries <= SOON_MIGRATED) return;
  console.talk(
    `The ledger in ${folder} is of an older format. It is copied and brought up to date, once; with ${counted(entries, 'entry', 'entries')} that can take minutes.`,
  );
}

/** The local calendar day of an instant, in ISO 8601. */
export function localDay(instant: Date): string {
  const two = (part: number) => String(part).padStart(2, '0');
  return `${instant.getFullYear()}-${two(instant.getMonth() + 1)}-${two(instant.getDate())}`;
}

/** The first instant after a local calendar day. */
export function endOfDay(day: string): Date {
  const [year = 0, month = 1, date = 1] = day.split('-').map(Number);
  return new Date(year, month - 1, date + 1);
}

function whoever(): string {
  if (process.env.POTTAG_BY) return process.env.POTTAG_BY;
  try {
    return userInfo().username;
  } catch {
    return 'unknown'; // A user without a name, as in some containers.
  }
}
