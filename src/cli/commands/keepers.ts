import { type Command, InvalidArgumentError } from 'commander';
import { InputError } from '../../errors.js';
import { quote } from '../../wording.js';
import type { Context, ExitCode, Run } from '../context.js';
import { integerOption } from '../options.js';

interface KeepersOptions {
  readonly weight?: Readonly<Record<string, number>>;
  readonly top: number;
}

/** Design, section 12: what to know before cuttings leave the garden. */
const CAUTIONS = [
  `Before cuttings leave the garden: moving or sharing them falls under local
plant-health and plant-variety rules, which Pottag does not know and defers to.`,
  'Fig latex burns skin in sunlight: wear gloves and wash.',
  `Taste nothing that was sprayed within the waiting period, nor of species whose
seedlings may be poisonous.`,
] as const;

const MORE_HELP = `
Seedlings are ranked by what was tasted and measured on them and on their
cuttings. Fruits, years and tasters are put together in a mixed model: one good
fruit counts for little, many for much, and a plant with few is drawn toward its
family. Criteria and what they weigh if you say nothing:

  liking  taste, 1 to 9                                                  3
  brix    sugar of the juice                                             1
  weight  of one fruit                                                   1
  held    share that ripened and did not fall, hand-pollinated left out  1
  early   first ripe fruit of the main crop, earlier is better           0

A weight is per standard deviation of the criterion; below 0 means that less is
better.

Name a keeper, take cuttings, and enrol them with its ID as their origin, so
that what is seen on them counts for it:
  pottag scan K7FY5 --keep yes --name "Hollow Amber"

${CAUTIONS.join('\n')}

Examples:
  pottag keepers
  pottag keepers --weight liking=2 --weight early=1 --weight weight=0 --top 40`;

export function addKeepers(program: Command, run: Run): void {
  program
    .command('keepers')
    .description('Rank seedlings by what was tasted and measured, and list the keepers you named.')
    .option('--weight <criterion=number>', 'what a criterion weighs (repeatable)', collectWeight)
    .option('--top <count>', 'how many seedlings of each crop', integerOption(1), 20)
    .addHelpText('after', MORE_HELP)
    .action((options: KeepersOptions, command: Command) =>
      run(command, (context) => keepers(context, options)),
    );
}

function collectWeight(text: string, before: Readonly<Record<string, number>> = {}): Record<string, number> {
  const [, name, value] = /^\s*(\w+)\s*=\s*(-?\d+(?:[.,]\d+)?)\s*$/.exec(text) ?? [];
  if (name === undefined || value === undefined) {
    throw new InvalidArgumentError('It is a criterion and a number, e.g. liking=3.');
  }
  return { ...before, [name.toLowerCase()]: Number(value.replace(',', '.')) };
}

async function keepers(context: Context, { weight = {}, top }: KeepersOptions): Promise<ExitCode> {
  const { CRITERIA } = await import('../../breeding/criteria.js');
  const unknown = Object.keys(weight).find((name) => !CRITERIA.some((criterion) => criterion.name === name));
  if (unknown !== undefined) {
    throw new InputError(
      'unknown-criterion',
      `There is no criterion ${quote(unknown)}.`,
      `The criteria are ${CRITERIA.map(({ name }) => name).join(', ')}.`,
    );
  }
  const { rankKeepers } = await import('../../breeding/keepers.js');
  const { keepersJson } = await import('../keepers-json.js');
  const { keepersInWords } = await import('../keepers-words.js');
  return context.withLedger<ExitCode>(async (ledger) => {
    const ranked = await rankKeepers(ledger, context.today, weight, top);
    context.console.document(
      keepersJson(
        ranked,
        CAUTIONS.map((caution) => caution.replaceAll('\n', ' ')),
      ),
    );
    context.console.print(keepersInWords(ranked, CAUTIONS));
    return 0;
  });
}
