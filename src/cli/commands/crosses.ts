import type { Command } from 'commander';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
A keeper is a plant that you recorded --keep yes on (or on a cutting of it).
Shares of keepers are of the seedlings that had their chance: fruit that came to
something, an end, or a verdict. Types of figs count where they are called (0.95
or more, see pottag show ID); what to expect comes from the type of the pollen
parent.

Examples:
  pottag crosses
  pottag scan K7FY5 --keep yes
  pottag crosses --json`;

export function addCrosses(program: Command, run: Run): void {
  program
    .command('crosses')
    .description(
      'What each cross gave: seedlings, types, keepers, years to first fruit, how many more to sow.',
    )
    .addHelpText('after', MORE_HELP)
    .action((_options: object, command: Command) => run(command, crosses));
}

async function crosses(context: Context): Promise<ExitCode> {
  const { reportCrosses } = await import('../../breeding/crosses.js');
  const { crossesJson } = await import('../crosses-json.js');
  const { crossesInWords } = await import('../crosses-words.js');
  return context.withLedger<ExitCode>(async (ledger) => {
    const report = await reportCrosses(ledger, context.today);
    context.console.document(crossesJson(report));
    context.console.print(crossesInWords(report));
    return 0;
  });
}
