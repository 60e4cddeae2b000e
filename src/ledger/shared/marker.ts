/** The file that says in a folder that it is the copy of a shared ledger, so that nobody writes in it by itself. */
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { LedgerError } from '../../errors.js';
import { writeWhole } from '../../files.js';

const MARKER_FILE = 'SHARED.txt';
const ADDRESS = 'Address: ';

/** Of a folder whose sharing may be done on the server or not. */
const UNFINISHED = 'Unfinished: ';

/** @param name the address of the shared ledger, without a password */
export function markShared(folder: string, name: string): void {
  const text = `This is a copy of a ledger that several machines share. It is kept in step with that one, and nothing
is written in it by itself.
${ADDRESS}${name}
`;
  writeWhole(join(folder, MARKER_FILE), text);
}

/**
 * From now on nobody writes in the folder, lest that never get to the server.
 * @returns what takes the mark back
 */
export function markBeingShared(folder: string, name: string): () => void {
  const file = join(folder, MARKER_FILE);
  const before = existsSync(file) ? readFileSync(file) : undefined;
  const text = `This ledger is being brought to a server, to be shared. If you find this file, that was cut short.
${ADDRESS}${name}
${UNFINISHED}${finishing(folder, name)}
If there is no ledger at that address and this one is not to be shared after all, delete this file.
`;
  writeWhole(file, text);
  return () => (before === undefined ? rmSync(file) : writeWhole(file, before));
}

/** @throws LedgerError if what is in `folder` is a copy: what is written in it would never get to the server */
export function refuseSharedCopy(folder: string): void {
  const file = `${folder}/${MARKER_FILE}`; // Every write looks for it, which takes half as long again with `join`.
  if (!existsSync(file)) return;
  const lines = readFileSync(file, 'utf8').split('\n');
  const name = lines.find((each) => each.startsWith(ADDRESS))?.slice(ADDRESS.length) ?? 'postgres://…';
  if (lines.some((each) => each.startsWith(UNFINISHED))) {
    throw new LedgerError(
      'unwritable',
      `The ledger in ${folder} is being shared at ${name}, and that was cut short or is still under way.`,
      `${finishing(folder, name)} Until then nothing can be recorded in it; ${MARKER_FILE} there says more.`,
    );
  }
  throw new LedgerError(
    'unwritable',
    `The folder ${folder} is a copy of the ledger that is shared at ${name}.`,
    `Name the ledger itself: --ledger ${name}. To take it back into a folder, make a backup there and restore that.`,
  );
}

function finishing(folder: string, name: string): string {
  return `Finish it: pottag share ${name} --ledger ${folder}`;
}
