import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { parseDay } from '../../observe/observation.js';
import type { Context, ExitCode, Run } from '../context.js';

interface PicksOptions {
  readonly frost?: string;
}

const MORE_HELP = `
Hanging is what was recorded as set, swelling or ripe and not as picked-unripe
or dropped since; a fruit that was measured or tasted counts as picked (record
--fruit swelling again if more hang). Record the day on which fruit sets, and
look again from time to time: from set and ripe of ten fruit on, times are those
of your own garden, before that common practice.

With --frost, fruit goes into three groups: pick before the frost (ripe by then,
or so near that it becomes good indoors), can wait under cover (ripe within four
weeks after it), too far off.

Examples:
  pottag picks
  pottag scan K7FY5 --fruit set --wood new
  pottag picks --frost 2026-10-18`;

/** No frost is planned for later: parsing a day asks for a last one. */
const LAST_DAY = '2999-12-31';

export function addPicks(program: Command, run: Run): void {
  program
    .command('picks')
    .description('What fruit hangs, when it will be ripe, and what to pick before a frost.')
    .option('--frost <day>', 'the night of the frost, e.g. 2026-10-18')
    .addHelpText('after', MORE_HELP)
    .action((options: PicksOptions, command: Command) => run(command, (context) => picks(context, options)));
}

async function picks(context: Context, options: PicksOptions): Promise<ExitCode> {
  const { picksBefore } = await import('../../breeding/picks.js');
  const { picksJson } = await import('../picks-json.js');
  const { picksInWords } = await import('../picks-words.js');
  const { today } = context;
  const frost = options.frost === undefined ? null : parseDay(options.frost, LAST_DAY);
  if (frost !== null && frost < today) {
    throw new InputError(
      'past-frost',
      `${frost} is past (today is ${today}).`,
      'Name the day of a frost to come, or leave --frost out to see what hangs.',
    );
  }
  return context.withLedger<ExitCode>(async (ledger) => {
    const found = await picksBefore(ledger, today, frost);
    context.console.document(picksJson(found));
    context.console.print(picksInWords(found));
    return 0;
  });
}
