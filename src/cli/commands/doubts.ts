import type { Command } from 'commander';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
A plant that showed pollen one year and edible pulp the next, or whose leaves
and pulp colour change back and forth, is rather two plants: their tags were
exchanged on some day in between. Each pair of plants is weighed, neighbours
before strangers, over all days; a value may also be misjudged or miswritten, a
day's notes may be another plant's, and a trait that changes on many plants says
little. Nothing is written.

Exit code 1 if there are doubts, 0 if none; contradictions that no exchange
explains are listed and change nothing in that.

Examples:
  pottag doubts
  pottag exchange K7FY5 PXSV9 --since 2026-08-30`;

export function addDoubts(program: Command, run: Run): void {
  program
    .command('doubts')
    .description('Find plants whose observations contradict each other as one plant cannot.')
    .addHelpText('after', MORE_HELP)
    .action((_options: object, command: Command) => run(command, doubts));
}

async function doubts({ console, withLedger }: Context): Promise<ExitCode> {
  const { findDoubts } = await import('../../walk/doubts/doubts.js');
  const { doubtsJson } = await import('../doubts-json.js');
  const { doubtsInWords } = await import('../doubts-words.js');
  return withLedger(async (ledger) => {
    const report = await findDoubts(ledger);
    console.document(doubtsJson(report));
    console.print(doubtsInWords(report));
    return report.doubts.length > 0 ? 1 : 0;
  });
}
