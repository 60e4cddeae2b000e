import type { Command } from 'commander';
import { counted } from '../../wording.js';
import { bold, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { folderToMake, reportRestored } from '../restored.js';

export function addBackup(program: Command, run: Run): void {
  program
    .command('backup')
    .description('Copy the whole ledger into one file, while it is in use if need be.')
    .argument('<file>', 'the file to write; an older one of that name is replaced')
    .addHelpText(
      'after',
      `
The file is a gzipped tar: the database as it is now, photos, printed sheets,
your own stocks. Keep copies on another disk, and in another house.

Example:
  pottag backup /media/stick/ledger-2026-09-14.tar.gz`,
    )
    .action((file: string, _options: object, command: Command) =>
      run(command, (context) => backup(context, file)),
    );
}

async function backup(context: Context, file: string): Promise<ExitCode> {
  const { console, ledgerFolder } = context;
  await context.place.bringUpToDate(context.now);
  const { backUp } = await import('../../archive/backup.js');
  const { bytes, sha256, photos, sheets } = await backUp(ledgerFolder, file);
  console.document({ file, bytes, sha256, photos, sheets });
  const held = `${counted(photos, 'photo')}, ${counted(sheets, 'printed sheet')}`;
  console.print(
    `${green(bold('Copied'))} to ${file}: ${inMegabytes(bytes)} MB, with ${held}; read back whole.`,
  );
  return 0;
}

function inMegabytes(bytes: number): string {
  return (bytes / 1e6).toFixed(1);
}

export function addRestore(program: Command, run: Run): void {
  program
    .command('restore')
    .description('Put a backup back as a ledger, in a folder that holds none.')
    .argument('<file>', 'a file that pottag backup made')
    .addHelpText(
      'after',
      `
What is restored is verified like by check before it is put in place. Exit code
1 if a photo or a printed sheet is missing or changed in it.

Example:
  pottag restore ledger-2026-09-14.tar.gz --ledger ./ledger-again`,
    )
    .action((file: string, _options: object, command: Command) =>
      run(command, (context) => putBack(context, file)),
    );
}

async function putBack({ console, place }: Context, file: string): Promise<ExitCode> {
  const { restore } = await import('../../archive/backup.js');
  const folder = folderToMake(place);
  const report = await restore(file, folder, console.progress('checking'));
  return reportRestored(console, 'Restored', folder, report);
}
