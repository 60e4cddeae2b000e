import { type Command, Option } from 'commander';
import { InputError } from '../../errors.js';
import { type FileBeside, readInput, writeBeside } from '../../files.js';
import { DEFAULT_ID_LENGTH, ID_LENGTHS, type IdLength, isIdLength } from '../../ids/plant-id.js';
import type { Ledger } from '../../ledger/ledger.js';
import type { DateOrder } from '../../plants/dates.js';
import type { Change, EnrolPlan } from '../../plants/enrol.js';
import type { PlantRows, PlantSource } from '../../plants/rows.js';
import { counted } from '../../wording.js';
import { bold, columns, dim, red, yellow } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { problemList } from '../report-error.js';

interface EnrolOptions {
  readonly column?: ReadonlyMap<string, string>;
  readonly dates?: DateOrder;
  readonly skipBad?: true;
  readonly amend?: true;
  readonly dryRun?: true;
  readonly out?: string;
  readonly idLength?: string;
}

const MORE_HELP = `
The file is comma-, semicolon- or tab-separated, in UTF-8, UTF-16 or
Windows-1252. Columns: key (your own unique name of the plant; required),
seed_parent, pollen_parent (or cross, both in one: A × B), sown, kind (seedling,
cutting, graft, parent), origin (ID or key of the plant a cutting came from),
station, type (of parents), note, crop (fig if you say nothing). Plain headings
such as Mother, ♂, Kreuzung or Date sown are understood, crop as this word only;
further columns are kept as they are.

All rows are enrolled or, if any has a problem, none. Enrolling a file again
gives the same IDs. A ledger is made if there is none yet.

Examples:
  pottag enrol seedlings.csv --out seedlings-with-ids.csv
  pottag enrol seedlings.csv --column key="Pot" --dates dmy --dry-run`;

export function addEnrol(program: Command, run: Run): void {
  program
    .command('enrol')
    .description('Turn the rows of a CSV into plants with permanent IDs.')
    .argument('<file.csv>', 'the plants, one a row')
    .option('--column <field=heading>', 'which column holds a field (repeatable)', columnOption)
    .addOption(
      new Option('--dates <order>', 'how 03/04/2026 is meant: day, month and year in this order').choices([
        'dmy',
        'mdy',
        'ymd',
      ]),
    )
    .option('--skip-bad', 'enrol the good rows although others have problems')
    .option('--amend', 'write what the file says otherwise of plants enrolled before')
    .option('--dry-run', 'only say what would be done')
    .option('--out <file.csv>', 'write the file again, with a column of IDs')
    .addOption(
      new Option(
        '--id-length <n>',
        'characters of an ID, for a new ledger (default: 5, for 32,767 plants)',
      ).choices(ID_LENGTHS.map(String)),
    )
    .addHelpText('after', MORE_HELP)
    .action((file: string, options: EnrolOptions, command: Command) =>
      run(command, (context) => enrol(context, file, options)),
    );
}

function columnOption(text: string, before: ReadonlyMap<string, string> = new Map()): Map<string, string> {
  const [, field, heading] = /^([^=]+)=(.*)$/su.exec(text) ?? [];
  if (field === undefined || heading === undefined) {
    throw new InputError(
      'bad-column-option',
      `--column ${text} has no "=".`,
      'Write it as --column key="Their Heading".',
    );
  }
  return new Map([...before, [field, heading]]);
}

async function enrol(context: Context, file: string, options: EnrolOptions): Promise<ExitCode> {
  const { readPlantRows } = await import('../../plants/rows.js');
  const { planEnrolment } = await import('../../plants/enrol.js');
  const { console, place, now, by, today } = context;
  const read = readPlantRows(readInput(file), {
    columns: options.column ?? new Map(),
    dates: options.dates,
    today,
    file,
    onProgress: console.progress('reading'),
  });
  let ledger = await place.find(now);
  try {
    const idLength = chooseIdLength(options, ledger, place.name);
    let draft: EnrolPlan | undefined;
    // What is refused whatever the ledger holds waits for no other command that writes.
    const isBad = read.problems.length > 0 && !options.skipBad;
    if (ledger === undefined || options.dryRun || isBad) {
      draft = await planEnrolment(ledger, idLength, read);
      if (options.dryRun || isRefused(draft, options))
        return await report(context, draft, read, options, false);
    }
    if (ledger === undefined) {
      if (options.out !== undefined) writeBeside(options.out, '').discard(); // Refused before a ledger is made.
      ledger = await place.create(idLength, by, now);
      console.talk(`A new ledger: ${place.name}`);
      // Another command may have made it meanwhile.
      if (chooseIdLength(options, ledger, place.name) !== idLength) draft = undefined;
    }
    const plan = await write(context, ledger, read, options, draft);
    return await report(context, plan, read, options, true);
  } finally {
    ledger?.close();
  }
}

/**
 * Plans inside the transaction, where no other command can enrol.
 * @param draft the plan for an empty ledger, if it was made already: it holds if the ledger is empty still
 */
async function write(
  context: Context,
  ledger: Ledger,
  read: PlantRows,
  options: EnrolOptions,
  draft: EnrolPlan | undefined,
): Promise<EnrolPlan> {
  const { carryOut, planEnrolment } = await import('../../plants/enrol.js');
  const { csvWithIds } = await import('../../plants/write-back.js');
  let file: FileBeside | undefined;
  try {
    return await ledger.write(context.by, async (writer) => {
      const isDrafted = draft !== undefined && (await writer.plantCount()) === 0;
      const plan = isDrafted ? draft : await planEnrolment(writer, ledger.idLength, read);
      if (isRefused(plan, options)) return plan;
      if (options.out !== undefined) {
        const ids = new Map(plan.plants.map(({ line, id }) => [line, id]));
        file = writeBeside(options.out, `\ufeff${csvWithIds(read.source, ids)}`);
      }
      await carryOut(writer, plan, options.amend ?? false, context.console.progress('enrolling'));
      file?.putInPlace();
      return plan;
    });
  } catch (error) {
    file?.takeBack();
    throw error;
  } finally {
    file?.discard();
  }
}

function chooseIdLength({ idLength }: EnrolOptions, ledger: Ledger | undefined, folder: string): IdLength {
  const asked = idLength === undefined ? undefined : Number(idLength);
  if (ledger === undefined) return isIdLength(asked) ? asked : DEFAULT_ID_LENGTH;
  if (asked === undefined || asked === ledger.idLength) return ledger.idLength;
  throw new InputError(
    'id-length-is-fixed',
    `The ledger in ${folder} has IDs of ${ledger.idLength} characters, not ${asked}; that cannot change.`,
    'Leave --id-length out, or make another ledger with --ledger.',
  );
}

/** Field → the heading it was read from. */
function headingsRead({ columns }: PlantSource): [string, string][] {
  return [...columns.fields].map(([field, index]) => [field, columns.labels[index] ?? '']);
}

function headingsKept({ columns }: PlantSource): string[] {
  return columns.extra.map((index) => columns.labels[index] ?? '');
}

/** Any problem refuses the whole file, unless the person says otherwise. */
function isRefused({ problems }: EnrolPlan, { skipBad }: EnrolOptions): boolean {
  return problems.length > 0 && !skipBad;
}

const MOST_LINES = 10;

async function report(
  { console }: Context,
  plan: EnrolPlan,
  { source }: PlantRows,
  options: EnrolOptions,
  isWritten: boolean,
): Promise<ExitCode> {
  const { shortRows } = await import('../../plants/rows.js');
  const { isCropColumn } = await import('../../observe/crops.js');
  const { problems, changes, toEnrol, toAmend, known } = plan;
  const short = shortRows(source);
  const unread = headingsKept(source);
  const refused = isRefused(plan, options);
  console.document({
    enrolled: refused ? 0 : toEnrol.length,
    known,
    changed: toAmend.length,
    problems,
    plants: refused ? [] : plan.plants,
    changes,
    columns: Object.fromEntries(headingsRead(source)),
    kept_columns: unread,
    short_rows: short,
    written: isWritten && !refused,
  });
  if (toEnrol.length > 0 || options.dryRun) {
    const read = headingsRead(source).map(([field, heading]) =>
      field === heading ? field : `${field} ← ${heading}`,
    );
    const crop = unread.filter(isCropColumn);
    const kept = unread.filter((heading) => !isCropColumn(heading));
    console.talk(
      `Columns: ${[...read, ...crop].join(', ')}${kept.length === 0 ? '' : `; kept as they are: ${kept.join(', ')}`}`,
    );
  }
  if (short.length > 0) console.talk(shortInWords(short));
  if (problems.length > 0) {
    const heading = `${red(bold(counted(problems.length, 'problem')))}${refused ? '; nothing was written' : ''}`;
    console.warn(`${heading}\n${problemList(problems)}`);
    if (refused)
      console.warn('Put them right and enrol the file again, or enrol the good rows with --skip-bad.');
  }
  if (refused) return 2;
  const verb = isWritten ? 'enrolled' : 'would be enrolled';
  console.print(
    `${bold(counted(toEnrol.length, 'plant'))} ${verb}, ${known.toLocaleString('en-GB')} known already.`,
  );
  printSome(
    console,
    toEnrol,
    ({ id, fields }) => [bold(id), fields.key],
    'ID and key of each: --out FILE.csv or --json',
  );
  if (changes.length > 0) printChanges(console, changes, options, isWritten);
  if (options.out !== undefined && isWritten) console.print(`Written with IDs: ${options.out}`);
  const needsPerson = problems.length > 0 || (changes.length > 0 && !options.amend);
  return needsPerson ? 1 : 0;
}

function shortInWords(lines: readonly number[]): string {
  const more = lines.length > MOST_LINES ? ` and ${lines.length - MOST_LINES} more (--json lists all)` : '';
  const which = `${lines.length === 1 ? 'line' : 'lines'} ${lines.slice(0, MOST_LINES).join(', ')}${more}`;
  return `${counted(lines.length, 'row')} with fewer cells than headings: ${which}. What is not there is taken as empty.`;
}

function printChanges(
  console: Context['console'],
  changes: readonly Change[],
  { amend }: EnrolOptions,
  isWritten: boolean,
): void {
  const done = amend ? (isWritten ? 'amended' : 'would be amended') : 'not written (--amend writes them)';
  console.print(`${yellow(bold(counted(changes.length, 'change')))} to plants enrolled before, ${done}:`);
  const row = ({ line, id, field, was, is }: Change) => [
    `line ${line}`,
    bold(id),
    field,
    `${was ?? dim('nothing')} → ${is ?? dim('nothing')}`,
  ];
  printSome(console, changes, row, '--json lists all');
}

function printSome<T>(
  console: Context['console'],
  all: readonly T[],
  row: (each: T) => readonly string[],
  whereAll: string,
): void {
  if (all.length === 0) return;
  console.print(columns(all.slice(0, MOST_LINES).map(row), '  '));
  if (all.length > MOST_LINES) console.print(dim(`  … and ${all.length - MOST_LINES} more (${whereAll})`));
}
