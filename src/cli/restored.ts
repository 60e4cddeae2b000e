/** A ledger that was made from a copy, in words, and what is not right with it. */
import { InputError } from '../errors.js';
import type { CheckReport } from '../ledger/check.js';
import type { LedgerPlace } from '../ledger/place.js';
import { counted } from '../wording.js';
import { bold, type Console, columns, green, red } from './console.js';
import type { ExitCode } from './context.js';

/** The folder for a ledger that is made from a copy. @throws InputError if a server was named */
export function folderToMake({ isShared, name, folder }: LedgerPlace): string {
  if (!isShared) return folder;
  throw new InputError(
    'not-a-folder',
    `A ledger is made again in a folder, not at ${name}.`,
    'Name a new folder with --ledger, then bring what is in it to an empty database with pottag share.',
  );
}

/** @param done what was done: `Restored` */
export function reportRestored(
  console: Console,
  done: string,
  folder: string,
  report: CheckReport,
): ExitCode {
  const { entries, plants, tags, observations, findings } = report;
  console.document({ ledger: folder, entries, plants, tags, observations, findings });
  const what = [counted(plants, 'plant'), counted(tags, 'tag'), counted(observations, 'observation')];
  console.print(`${green(bold(done))} to ${folder} and verified: ${what.join(', ')}.`);
  if (findings.length === 0) return 0;
  console.print(red(bold(`${counted(findings.length, 'file')} beside the database missing or changed:`)));
  console.print(
    columns(
      findings.map(({ where, what }) => [where, what]),
      '  ',
    ),
  );
  return 1;
}
