import type { Command } from 'commander';
import { counted } from '../../wording.js';
import { bold, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { folderToMake, reportRestored } from '../restored.js';

export function addExport(program: Command, run: Run): void {
  program
    .command('export')
    .description('Write the whole ledger as CSV files that any program can read.')
    .requiredOption('--to <folder>', 'a new folder')
    .addHelpText(
      'after',
      `
journal.csv is the whole ledger, entry by entry; plants.csv, tags.csv and
observations.csv say the same for spreadsheets and statistics programs.
datapackage.json describes every column (Frictionless Data Package). Photos and
printed sheets lie beside them. pottag import makes the same ledger again.

A text that a spreadsheet could take for a formula has an apostrophe before it.

Example:
  pottag export --to ./ledger-as-csv`,
    )
    .action((options: { to: string }, command: Command) =>
      run(command, (context) => exportTo(context, options.to)),
    );
}

async function exportTo(context: Context, to: string): Promise<ExitCode> {
  const { console, ledgerFolder, now } = context;
  await context.place.bringUpToDate(now);
  const { exportLedger } = await import('../../archive/export.js');
  const counts = await exportLedger(ledgerFolder, to, now);
  console.document({ folder: to, ...counts });
  const { entries, plants, tags, observations } = counts;
  const what = [counted(plants, 'plant'), counted(tags, 'tag'), counted(observations, 'observation')];
  console.print(
    `${green(bold('Written'))} to ${to}: ${what.join(', ')}; ${counted(entries, 'entry', 'entries')} in the journal.`,
  );
  return 0;
}

export function addImport(program: Command, run: Run): void {
  program
    .command('import')
    .description('Make the same ledger again of a folder that export wrote.')
    .argument('<folder>', 'the folder that export wrote')
    .addHelpText(
      'after',
      `
The ledger is made in a new folder, with the same IDs, entries and hashes, and
verified like by check. To add plants from a spreadsheet, use pottag enrol.

Example:
  pottag import ./ledger-as-csv --ledger ./ledger-again`,
    )
    .action((folder: string, _options: object, command: Command) =>
      run(command, (context) => importFrom(context, folder)),
    );
}

async function importFrom({ console, place }: Context, from: string): Promise<ExitCode> {
  const { importLedger } = await import('../../archive/export.js');
  const folder = folderToMake(place);
  const report = await importLedger(from, folder, console.progress('checking'));
  return reportRestored(console, 'Imported', folder, report);
}
