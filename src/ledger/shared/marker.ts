/** The file that says in a folder that it is the copy of a shared ledger, so that nobody writes in it by itself. */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { LedgerError } from '../../errors.js';
import { writeWhole } from '../../files.js';

const MARKER_FILE = 'SHARED.txt';
const ADDRESS = 'Address: ';

/** @param name the address of the shared ledger, without a password */
export function markShared(folder: string, name: string): void {
  const text = `This is a copy of a ledger that several machines share. It is kept in step with that one, and nothing
is written in it by itself.
${ADDRESS}${name}
`;
  writeWhole(join(folder, MARKER_FILE), text);
}

/** @throws LedgerError if what is in `folder` is a copy: what is written in it would never get to the server */
export function refuseSharedCopy(folder: string): void {
  const file = join(folder, MARKER_FILE);
  if (!existsSync(file)) return;
  const line = readFileSync(file, 'utf8')
    .split('\n')
    .find((each) => each.startsWith(ADDRESS));
  const name = line?.slice(ADDRESS.length) ?? 'postgres://…';
  throw new LedgerError(
    'unwritable',
    `The folder ${folder} is a copy of the ledger that is shared at ${name}.`,
    `Name the ledger itself: --ledger ${name}. To take it back into a folder, make a backup there and restore that.`,
  );
}
