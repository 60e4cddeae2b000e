import type { Command } from 'commander';
import type { Plant } from '../../ledger/model.js';
import { parseDay } from '../../observe/observation.js';
import { counted } from '../../wording.js';
import { bold } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { howToUndo, plantInWords } from '../words.js';

interface ExchangeOptions {
  readonly since: string;
  readonly hungBack?: string | true;
}

const MORE_HELP = `
What was seen by their tags from that day on changes places, and each plant
stands where its own pot was seen last. What was found without a tag, by place
and leaf, stays.

Their tags hang on each other's pots. They are given up, so that none can pass
for the right one, and new ones are queued; unless you have hung them back: then
say so, and on which day, if it was not today. What was seen on that day still
changes places.

Examples:
  pottag exchange K7FY5 PXSV9 --since 2026-09-24
  pottag exchange K7FY5 PXSV9 --since 2026-06-01 --hung-back 2026-09-20`;

export function addExchange(program: Command, run: Run): void {
  program
    .command('exchange')
    .description("Put right that two plants wore each other's tags: what was seen changes places.")
    .argument('<a>', 'one of the plants')
    .argument('<b>', 'the other')
    .requiredOption('--since <day>', 'the first day on which the tags hung wrong, e.g. 2026-09-24')
    .option('--hung-back [day]', 'the tags hang right again, since this day (default: today)')
    .addHelpText('after', MORE_HELP)
    .action((a: string, b: string, options: ExchangeOptions, command: Command) =>
      run(command, (context) => exchange(context, [a, b], options)),
    );
}

async function exchange(
  context: Context,
  texts: readonly [string, string],
  options: ExchangeOptions,
): Promise<ExitCode> {
  const { choosePlants } = await import('../../plants/select.js');
  const { exchangePlants } = await import('../../observe/corrections.js');
  const { console, today, by } = context;
  const since = parseDay(options.since, today);
  const until = typeof options.hungBack === 'string' ? parseDay(options.hungBack, today) : today;
  const hungBack = options.hungBack !== undefined;
  return context.withLedger<ExitCode>(async (ledger) => {
    const named = async (text: string) => (await choosePlants(ledger, { ids: [text] }))[0] as Plant;
    const asked = { a: await named(texts[0]), b: await named(texts[1]), since, until, hungBack };
    const { a, b, moved, voided, settled, change } = await exchangePlants(ledger, asked, by);
    console.document({
      ids: [a.id, b.id],
      since,
      until,
      moved: [
        { from: a.id, to: b.id, observations: moved.fromA },
        { from: b.id, to: a.id, observations: moved.fromB },
      ],
      stations: { [a.id]: a.station, [b.id]: b.station },
      voided: voided.map(({ id, issue }) => ({ id, issue, text: `${id}.${issue}`, queued: issue + 1 })),
      doubts_settled: settled,
      change: change.number,
      entry: change.id,
    });
    console.print(`${bold(a.id)} and ${bold(b.id)} changed places, from ${since} to ${until}:`);
    console.print(`  ${counted(moved.fromA, 'observation')} of ${a.id} ${are(moved.fromA)} of ${b.id} now`);
    console.print(`  ${counted(moved.fromB, 'observation')} of ${b.id} ${are(moved.fromB)} of ${a.id} now`);
    for (const plant of [a, b]) console.print(`  ${bold(plant.id)}  ${plantInWords(plant)}`);
    if (settled > 0) console.print(`  ${counted(settled, 'doubt')} about them ${are(settled)} settled`);
    if (hungBack) console.print('  Their tags hang right again, so they stay as they are.');
    if (voided.length > 0) console.print(`\n${whatToHang(a, b, voided)}`);
    console.talk(howToUndo(change.number));
    return 0;
  });
}

function are(count: number): string {
  return count === 1 ? 'is' : 'are';
}

function whatToHang(
  a: Plant,
  b: Plant,
  voided: readonly { readonly id: string; readonly issue: number }[],
): string {
  const lines = voided.map(({ id, issue }) => {
    const [plant, other] = id === a.id ? [a, b] : [b, a];
    const wrong = voided.find((tag) => tag.id === other.id);
    const worn = wrong === undefined ? `a tag of ${other.id}` : `${other.id}.${wrong.issue}`;
    const where = plant.station === null ? '' : ` (${plant.station})`;
    return `  the pot that wears ${worn} is ${bold(id)}${where}: take it off, hang ${bold(`${id}.${issue + 1}`)}`;
  });
  return [
    `${voided.map(({ id, issue }) => `${id}.${issue}`).join(' and ')} ${voided.length === 1 ? 'is' : 'are'} void: they hang on each other's pots. Print the next ones:`,
    '  pottag tags --queued --stock NAME --out FILE.pdf',
    ...lines,
  ].join('\n');
}
