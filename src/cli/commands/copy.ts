import { resolve } from 'node:path';
import type { Command } from 'commander';
import { counted } from '../../wording.js';
import { bold, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
For a laptop in a garden without reception, or a helper's own machine. The copy
is a ledger: scan, show, walk and serve work in it. What is seen can be
recorded, with photos, and taken back. It enrols nothing, prints nothing and
gives up no tag, so that no ID or tag is given twice: that stays with the ledger
at home.

"pottag merge" at home brings back what was recorded, as often as you like. To
bring a copy up to date, merge it, then make a new one.

Examples:
  pottag copy --for "field laptop" --to /media/stick/field-ledger
  pottag scan --ledger ./field-ledger
  pottag merge /media/stick/field-ledger`;

export function addCopy(program: Command, run: Run): void {
  program
    .command('copy')
    .description('Make a field copy of the ledger: to record in elsewhere, and to merge again.')
    .requiredOption('--for <device>', 'whose or what it is, as you call it')
    .requiredOption('--to <folder>', 'a new folder')
    .addHelpText('after', MORE_HELP)
    .action((options: { for: string; to: string }, command: Command) =>
      run(command, (context) => copy(context, options.for, options.to)),
    );
}

async function copy(context: Context, device: string, to: string): Promise<ExitCode> {
  const { copyForField } = await import('../../archive/copy.js');
  const { console, place, by, now } = context;
  await place.bringUpToDate(now);
  const { folder } = place;
  const home = { folder, name: place.isShared ? place.name : resolve(folder) };
  const made = await copyForField(home, to, device, by, now);
  console.document({ folder: to, device, ...made });
  console.print(
    `${green(bold('Copied'))} to ${to} for ${device}: ${counted(made.plants, 'plant')}. It records what is seen; enrol and print here.`,
  );
  console.talk(`pottag merge ${to} brings home what was recorded in it.`);
  return 0;
}
