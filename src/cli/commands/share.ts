import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { ledgerPlace } from '../../ledger/place.js';
import { counted } from '../../wording.js';
import { bold, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
For a nursery whose benches are in several houses. PostgreSQL keeps the
journal, photos and printed sheets; every machine names it in place of a folder
and works as before:
  pottag scan --ledger postgres://wren@shed/garden

Whoever keeps the server makes an empty database (createdb garden) and a user
for each person. Whoever made the ledger there lets each of the others use it:
  GRANT USAGE ON SCHEMA pottag TO finch;
  GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA pottag TO finch;
Keep passwords in ~/.pgpass or PGPASSWORD rather than in the address. The
connection is encrypted only if the address ends with ?sslmode=verify-full, or
with ?sslmode=require, which does not make sure of the server.

The first command on a machine fetches a copy of the whole ledger into a folder
under ~/.pottag (or POTTAG_COPIES), every later one what is new. Your own stocks
and the paired phones stay on the machine, in that folder. Nothing is recorded
while the server cannot be reached; for that make field copies.

The folder that was shared is only a copy from then on; if this command is cut
short, call it again. Should the server lose the ledger, share the copy of any
machine to an empty database in the same way.

Example:
  pottag share postgres://wren@shed/garden --ledger ./pottag-ledger`;

export function addShare(program: Command, run: Run): void {
  program
    .command('share')
    .description('Bring the ledger of a folder to a PostgreSQL server, for several machines.')
    .argument('<address>', 'an empty database: postgres://USER@HOST/DATABASE')
    .addHelpText('after', MORE_HELP)
    .action((address: string, _options: object, command: Command) =>
      run(command, (context) => share(context, address)),
    );
}

async function share({ console, place }: Context, url: string): Promise<ExitCode> {
  const target = await ledgerPlace(url);
  if (!target.isShared || place.isShared) {
    throw new InputError(
      'not-an-address',
      place.isShared ? `${place.name} is no folder.` : `${target.name} is no address of a database.`,
      'Name the database first and the folder with --ledger: pottag share postgres://USER@HOST/DATABASE --ledger FOLDER.',
    );
  }
  const { refuseDamaged } = await import('../../archive/sound.js');
  const { shareLedger } = await import('../../ledger/shared/share.js');
  const { sharedAddress } = await import('../../ledger/shared/address.js');
  refuseDamaged(
    place.folder,
    console.progress('checking'),
    `The ledger in ${place.folder} is damaged`,
    'Save what can be read of it with pottag check --rebuild NEW-FOLDER, then share that. Nothing was changed.',
  );
  const { entries, files } = await shareLedger(place.folder, sharedAddress(url));
  console.document({ ledger: target.name, entries, files });
  const brought = `${counted(entries, 'entry', 'entries')}, ${counted(files, 'photo or printed sheet', 'photos and printed sheets')}`;
  console.print(
    `${green(bold('Shared'))} at ${target.name}: ${entries === 0 ? 'all of it was there already' : brought}.`,
  );
  console.talk(`From now on use --ledger ${target.name}; ${place.folder} is only a copy.`);
  return 0;
}
