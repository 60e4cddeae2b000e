import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import type { Change } from '../../ledger/changes.js';
import type { Plant } from '../../ledger/model.js';
import { counted } from '../../wording.js';
import { bold, columns, dim } from '../console.js';
import { type Context, type ExitCode, localDay, type Run } from '../context.js';
import { howToUndo } from '../words.js';

interface UndoOptions {
  readonly belongsTo?: string;
}

/** So many changes are listed. */
const LISTED = 12;

const MORE_HELP = `
Nothing is deleted: the ledger keeps what was written and that it was taken
back, and an undo can be undone. A change is named by its number, which each
command says when it writes one; "pottag show ID" says the number of every
observation. Enrolled plants and printed tags stay.

Examples:
  pottag undo
  pottag undo 412
  pottag undo 398 --belongs-to K7FY5`;

export function addUndo(program: Command, run: Run): void {
  program
    .command('undo')
    .description('Take back an observation, a tag given up, an exchange or a walk; or list what can be.')
    .argument('[change]', 'its number')
    .option('--belongs-to <id>', 'this observation was made on another plant: put it there instead')
    .addHelpText('after', MORE_HELP)
    .action((change: string | undefined, options: UndoOptions, command: Command) =>
      run(command, (context) => undoCommand(context, change, options)),
    );
}

async function undoCommand(
  context: Context,
  change: string | undefined,
  { belongsTo }: UndoOptions,
): Promise<ExitCode> {
  if (change !== undefined) {
    const which = parseChange(change);
    return belongsTo === undefined ? takeBack(context, which) : putUnder(context, which, belongsTo);
  }
  if (belongsTo === undefined) return list(context);
  throw new InputError(
    'no-change',
    'Which observation belongs to another plant was not said.',
    `Give its number: pottag undo 398 --belongs-to ${belongsTo}. pottag show ID says the numbers.`,
  );
}

/** A number as listed, or an entry's UUID as --json prints it. */
function parseChange(text: string): number | string {
  if (/^#?\d{1,15}$/.test(text)) return Number(text.replace('#', ''));
  if (/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(text)) return text.toLowerCase();
  throw new InputError(
    'bad-change',
    `"${text}" is not the number of a change.`,
    'pottag undo lists the latest changes with their numbers; pottag show ID those of observations.',
  );
}

async function list({ console, withLedger }: Context): Promise<ExitCode> {
  const { changeInWords } = await import('../../observe/undo.js');
  return withLedger<ExitCode>(async (ledger) => {
    const changes = await ledger.changes(LISTED);
    console.document({ changes: changes.map((change) => changeJson(change, changeInWords(change))) });
    if (changes.length === 0) {
      console.print('Nothing was written yet that could be undone.');
      return 0;
    }
    const rows = changes.map((change) => [
      bold(String(change.number)),
      localTime(change.at),
      dim(change.by),
      changeInWords(change),
    ]);
    console.print(`What can be undone, latest first:\n${columns(rows, '  ')}`);
    console.talk(`pottag undo ${changes[0]?.number} takes back the first.`);
    return 0;
  });
}

async function takeBack(context: Context, which: number | string): Promise<ExitCode> {
  const { changeInWords, undo } = await import('../../observe/undo.js');
  const { console, by } = context;
  return context.withLedger<ExitCode>(async (ledger) => {
    const { undone, change, withdrawn, restored } = await undo(ledger, which, by);
    const words = changeInWords(undone);
    console.document({
      undone: changeJson(undone, words),
      withdrawn,
      restored,
      change: change.number,
      entry: change.id,
    });
    const counts = [
      ...(withdrawn > 0 ? [`${counted(withdrawn, 'entry', 'entries')} taken back`] : []),
      ...(restored > 0 ? [`${counted(restored, 'entry', 'entries')} put back`] : []),
    ];
    console.print(`${bold(`Undone: ${undone.number}`)}, ${words}\n  ${counts.join(', ')}`);
    console.talk(howToUndo(change.number));
    return 0;
  });
}

async function putUnder(context: Context, which: number | string, text: string): Promise<ExitCode> {
  const { choosePlants } = await import('../../plants/select.js');
  const { reassign } = await import('../../observe/corrections.js');
  const { console, by } = context;
  return context.withLedger<ExitCode>(async (ledger) => {
    const plant = (await choosePlants(ledger, { ids: [text] }))[0] as Plant;
    const { change, date } = await reassign(ledger, which, plant, by);
    console.document({ reassigned: which, date, id: plant.id, change: change.number, entry: change.id });
    console.print(`What was seen on ${date} is of ${bold(plant.id)} now.`);
    console.talk(howToUndo(change.number));
    return 0;
  });
}

function changeJson({ number, id, at, by }: Change, words: string) {
  return { number, entry: id, at, by, words };
}

function localTime(instant: string): string {
  const date = new Date(instant);
  const two = (part: number) => String(part).padStart(2, '0');
  return `${localDay(date)} ${two(date.getHours())}:${two(date.getMinutes())}`;
}
