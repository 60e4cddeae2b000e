import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { readInput, writeWhole } from '../../files.js';
import type { Ledger } from '../../ledger/ledger.js';
import { parseDay } from '../../observe/observation.js';
import type { ToWrite, Written } from '../../walk/apply.js';
import type { Finding } from '../../walk/findings.js';
import type { WalkRow } from '../../walk/rows.js';
import type { WalkProblem } from '../../walk/session.js';
import type { WalkReport } from '../../walk/walk.js';
import { counted } from '../../wording.js';
import { bold, type Console, green } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { doubtInWords, howToUndo } from '../words.js';

interface WalkOptions {
  readonly out?: string;
  readonly date?: string;
  readonly apply?: true;
  readonly accept?: readonly string[];
}

const MORE_HELP = `
Go along the stations and write a row for each: station, scanned, and what you
see. scanned is the tag's text or ID, with ? for characters that cannot be read
(K?F?5); none for a pot without a tag; empty for no pot. Traits seen (height_cm,
leaf, any column of your own) tell pots apart: give them for the pots without a
tag and for those that seem exchanged.

  station,scanned,height_cm,leaf
  bench 2 / row 3 / 7,K7FY5.1,,
  bench 2 / row 3 / 8,none,64,five-lobed
  bench 2 / row 3 / 9,empty,,

Without a file (or for -) the walk is typed or scanned, a line each: the
station's sign (pottag signs prints them) or its name, with "station" before it
if no plant stood there yet; then the tag, none or empty; then what you see on
it. --out keeps such a walk as a CSV, to run it again with --accept.

  bench 2 / row 3 / 8
  none
  height 64
  leaf five-lobed

Walk what you like: plants of other rows are not missed. Nothing is written
without --apply (what is certain) or --accept (a plant that you have looked at
yourself).

Examples:
  pottag walk storm.csv
  pottag walk storm.csv --apply --accept "bench 2 / row 3 / 8=K7FY5"
  pottag tags --queued --stock a4-24-64x34 --out replacements.pdf`;

export function addWalk(program: Command, run: Run): void {
  program
    .command('walk')
    .description('Find lost, moved and exchanged pots and tags, from a list of what stands where.')
    .argument('[file.csv]', 'the walk: a row for each station; without it, lines are read')
    .option('--date <day>', 'the day of the walk, e.g. 2026-09-14 (default: today)')
    .option(
      '--apply',
      'write what is certain: moves, sightings, tags lost in place; and mark as doubtful what was seen by tags found exchanged',
    )
    .option('--accept <station=id>', 'write that this plant stands there (repeatable)', collect)
    .option('--out <file.csv>', 'write what was typed or scanned, as a CSV')
    .addHelpText('after', MORE_HELP)
    .action((file: string | undefined, options: WalkOptions, command: Command) =>
      run(command, (context) => walk(context, file, options)),
    );
}

function collect(text: string, before: readonly string[] = []): string[] {
  return [...before, text];
}

async function walk(context: Context, file: string | undefined, options: WalkOptions): Promise<ExitCode> {
  const { readWalk } = await import('../../walk/rows.js');
  const { typedLines } = await import('../typed-lines.js');
  const { typeWalk } = await import('../walk-typed.js');
  const { knownStations } = await import('../../walk/lines.js');
  const { WalkSession } = await import('../../walk/session.js');
  const { console, today } = context;
  const date = options.date === undefined ? today : parseDay(options.date, today);
  if (file !== undefined && file !== '-') {
    if (options.out !== undefined) throw nothingToKeep();
    const rows = readWalk(readInput(file), file);
    return context.withLedger((ledger) => examine(context, ledger, rows, { ...options, date }));
  }
  const lines = typedLines('name the CSV of a walk');
  return context.withLedger(async (ledger) => {
    const session = new WalkSession(ledger.idLength, knownStations(await ledger.stations()));
    const { csv, problems } = await typeWalk(console, lines, session);
    if (options.out !== undefined) writeWhole(options.out, csv);
    try {
      const rows = readWalk(Buffer.from(csv), 'what was typed');
      const exitCode = await examine(context, ledger, rows, { ...options, date }, problems);
      return problems.length > 0 ? 1 : exitCode;
    } catch (error) {
      if (options.out === undefined)
        console.warn(`The walk, to keep and give to pottag walk as a file:\n${csv}`);
      throw error;
    }
  });
}

function nothingToKeep(): InputError {
  return new InputError(
    'nothing-to-keep',
    '--out writes a walk that is typed, but this one is in a file already.',
    'Leave out --out, or the file.',
  );
}

async function examine(
  { console, by }: Context,
  ledger: Ledger,
  rows: readonly WalkRow[],
  options: WalkOptions & { readonly date: string },
  problems: readonly WalkProblem[] = [],
): Promise<ExitCode> {
  const { examineWalk } = await import('../../walk/walk.js');
  const { daysHungWrong } = await import('../../walk/hung-wrong.js');
  const { walkJson } = await import('../walk-json.js');
  const { walkInWords } = await import('../walk-words.js');
  const { parseAccepted, settleWalk } = await import('../../walk/apply.js');
  const { readTagText } = await import('../../codes/tag-text.js');
  const { date } = options;
  const accepted = (options.accept ?? []).map((text) =>
    parseAccepted(text, (typed) => {
      const reading = readTagText(typed, ledger.idLength);
      return reading.kind === 'sound' ? reading.id : undefined;
    }),
  );
  const certain = options.apply ?? false;
  if (!certain && accepted.length === 0) {
    const report = await examineWalk(ledger, ledger.idLength, rows, date);
    const days = await daysHungWrong(ledger, report.exchanges.keys(), date);
    console.document(walkJson(report, days, null, problems));
    console.print(walkInWords(report, days));
    tellHow(console, report);
    return rows.length === 0 || needsPerson(report.comparison.findings) ? 1 : 0;
  }
  const toWrite: ToWrite = { by, date, certain, accepted };
  const { report, days, written } = await settleWalk(ledger, rows, toWrite);
  const left = await examineWalk(ledger, ledger.idLength, rows, date);
  const daysLeft = await daysHungWrong(ledger, left.exchanges.keys(), date);
  console.document(walkJson(report, days, written, problems));
  console.print(`${writtenInWords(written)}\n\nWhat is left:\n${walkInWords(left, daysLeft)}`);
  tellHow(console, left);
  if (written.change !== null) console.talk(howToUndo(written.change.number));
  return rows.length === 0 || needsPerson(left.comparison.findings) ? 1 : 0;
}

function needsPerson(findings: readonly Finding[]): boolean {
  return findings.some(({ kind }) => kind !== 'in-place' && kind !== 'awaiting-tag');
}

function tellHow(console: Console, { proposals }: WalkReport): void {
  const proposal = proposals.find(({ isProposed }) => isProposed);
  if (proposal === undefined) return;
  const { pot, plant } = proposal;
  console.talk(`To take one: --accept "${pot.spot.station}=${plant?.id}"`);
}

function writtenInWords({ moved, voided, sighted, doubted, change }: Written): string {
  if (change === null) return 'Nothing new to write.';
  const lines = [
    `${green(bold('Written:'))} ${counted(sighted, 'sighting')}, ${counted(moved.length, 'move')}, ${counted(voided.length, 'tag')} given up.`,
    ...moved.map(({ id, from, to }) => `  ${bold(id)}  ${from ?? 'no station'} → ${to}`),
    ...voided.map(
      ({ id, issue }) => `  ${bold(`${id}.${issue}`)} is void, ${bold(`${id}.${issue + 1}`)} is queued`,
    ),
  ];
  if (voided.length > 0)
    lines.push('pottag tags --queued --stock NAME --out FILE.pdf prints what is queued.');
  lines.push(...doubted.map((doubt) => `\n${doubtInWords(doubt)}`));
  return lines.join('\n');
}
