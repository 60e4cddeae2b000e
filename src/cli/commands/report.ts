import type { Command } from 'commander';
import { counted } from '../../wording.js';
import { bold, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
One file, index.html, that needs no net and no script: the garden at a glance;
what each cross gave against what was expected; years to first fruit; the best
seedlings with how sure their ranks are; a map of the benches; when fruit was
ripe. Open it in any browser; printed, it fits A4 and Letter, in grey too. A
report in FOLDER is replaced, whatever else is there stays.

Example:
  pottag report --out ./report`;

export function addReport(program: Command, run: Run): void {
  program
    .command('report')
    .description('Write a page with plots of crosses, keepers, benches and ripening.')
    .requiredOption('--out <folder>', 'the folder to write index.html in')
    .addHelpText('after', MORE_HELP)
    .action((options: { out: string }, command: Command) =>
      run(command, (context) => report(context, options.out)),
    );
}

async function report({ console, today, withLedger }: Context, out: string): Promise<ExitCode> {
  const { writeReport } = await import('../../report/report.js');
  return withLedger<ExitCode>(async (ledger) => {
    const written = await writeReport(ledger, today, out, console.progress('reading'));
    const plots = written.sections.reduce((sum, section) => sum + section.plots, 0);
    console.document(written);
    console.print(
      `${green(bold('Written'))}: ${written.file}, ${counted(plots, 'plot')}. Open it in a browser.`,
    );
    return 0;
  });
}
