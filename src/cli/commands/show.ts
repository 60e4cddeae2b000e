import type { Command } from 'commander';
import type { TypeJudgement } from '../../breeding/fig-types.js';
import { InputError } from '../../errors.js';
import type { LedgerReader, LedgerView } from '../../ledger/ledger.js';
import type { KnownObservation, Observation, Plant, Tag } from '../../ledger/model.js';
import { parseDay, seenInWords } from '../../observe/observation.js';
import { type Resolution, resolve } from '../../scan/resolve.js';
import { unresolvedPlant, whatToDo } from '../../scan/unresolved.js';
import { bold, columns, dim, yellow } from '../console.js';
import { type Context, type ExitCode, endOfDay, localDay, type Run } from '../context.js';
import { crossOf, knownObservationJson, observationJson, plantJson, tagJson } from '../json.js';
import { doubtInWords } from '../words.js';

interface ShowOptions {
  readonly asOf?: string;
}

const MORE_HELP = `
The number in brackets before an observation is what "pottag undo" takes.
--as-of shows what was in the ledger at the end of that day, whatever was
corrected since.

Examples:
  pottag show K7FY5
  pottag show K7FY5 --as-of 2026-09-14`;

export function addShow(program: Command, run: Run): void {
  program
    .command('show')
    .description("Show a plant's whole record: where it comes from, its tags, what was seen.")
    .argument('<id>', 'the ID, or the text of a tag (K7FY5 or K7FY5.2)')
    .option('--as-of <day>', 'as the ledger told it at the end of this day')
    .addHelpText('after', MORE_HELP)
    .action((id: string, options: ShowOptions, command: Command) =>
      run(command, (context) => show(context, id, options)),
    );
}

async function show(context: Context, text: string, { asOf }: ShowOptions): Promise<ExitCode> {
  const day = asOf === undefined ? undefined : parseDay(asOf, context.today);
  return context.withLedger<ExitCode>(async (ledger) => {
    const resolution = await resolve(ledger, text);
    if (resolution.plant === null) throw unresolvedPlant(resolution, ledger.idLength);
    if (day === undefined) return showPlant(context, ledger, resolution, resolution.plant);
    const { viewAsOf } = await import('../../ledger/as-of.js');
    const { id } = resolution.plant;
    const view = viewAsOf(ledger.folder, ledger.idLength, endOfDay(day));
    try {
      const then = await resolve(view, text);
      if (then.plant !== null) return await showPlant(context, view, then, then.plant, day);
    } finally {
      view.close();
    }
    throw new InputError(
      'unknown-then',
      `At the end of ${day} this ledger had no plant ${id}.`,
      `It was enrolled later: pottag show ${id} shows it as it is now.`,
    );
  });
}

/** @param day the day as of which it is shown; undefined for now */
async function showPlant(
  { console }: Context,
  ledger: LedgerView,
  resolution: Resolution,
  plant: Plant,
  day?: string,
): Promise<ExitCode> {
  const { status } = resolution;
  const tags = await ledger.tags(plant.id);
  const observations = await ledger.observations(plant.id);
  const withdrawn = await ledger.withdrawnObservations(plant.id);
  const doubts = await ledger.doubts(plant.id);
  const offspring = await ledger.plantsFrom(plant.id);
  const judgement = await judgedType(ledger, plant);
  const { typeInWords, typeJson } = await import('../type-words.js');
  console.document({
    as_of: day ?? null,
    plant: plantJson(plant),
    tags: tags.map((tag) => tagJson(plant.id, tag)),
    observations: observations.map(knownObservationJson),
    withdrawn: withdrawn.map((one) => ({ ...observationJson(one), withdrawn: one.withdrawn })),
    doubts: doubts.map(({ number, plants, after, until }) => ({ number, ids: plants, after, until })),
    type: judgement === null ? { stated: plant.type } : typeJson(judgement),
    taken_from_it: offspring.map(plantJson),
    status,
  });
  const parts = [plantText(plant), tagsText(tags), observationsText(plant, observations, withdrawn)];
  parts.push(...doubts.map((doubt) => `${yellow('Doubtful')}\n${doubtInWords(doubt)}`));
  if (judgement !== null) parts.push(typeInWords(judgement));
  if (offspring.length > 0) parts.push(offspringText(offspring));
  if (day !== undefined) console.print(`${dim(`As of the end of ${day}`)}\n`);
  console.print(parts.join('\n\n'));
  const todo = whatToDo(resolution, ledger.idLength);
  if (todo === null) return 0;
  console.print(`\n${yellow(`${resolution.text} is ${status}.`)} ${todo}`);
  return 1;
}

/** Null for a plant that is no fig. */
async function judgedType(ledger: LedgerReader, plant: Plant): Promise<TypeJudgement | null> {
  const { cropOf } = await import('../../observe/crops.js');
  if (!cropOf(plant).hasFigTypes) return null;
  const { judgeType } = await import('../../breeding/fig-types.js');
  return judgeType(ledger, plant);
}

function plantText(plant: Plant): string {
  const state = plant.ended === null ? plant.kind : `${plant.kind}, ended ${plant.ended}`;
  const facts: (readonly [string, string | null])[] = [
    ['key', plant.key],
    ['cross', crossOf(plant)],
    ['origin', plant.origin],
    ['sown', plant.sown],
    ['station', plant.station],
    ['type', plant.type],
    ['note', plant.note],
    ...Object.entries(plant.extra),
  ];
  const known = facts.flatMap(([name, value]) => (value === null ? [] : [[name, value] as const]));
  const width = Math.max(...known.map(([name]) => name.length));
  const rows = known.map(([name, value]) => [name, value.replaceAll('\n', `\n${' '.repeat(width + 4)}`)]);
  return `${bold(plant.id)}  ${state}\n${columns(rows, '  ')}`;
}

function tagsText(tags: readonly Tag[]): string {
  if (tags.length === 0) return `${bold('Tags')}\n  ${dim('none printed yet')}`;
  const day = (instant: string) => localDay(new Date(instant));
  const rows = tags.map((tag) => [
    `issue ${tag.issue}`,
    tag.voidedAt === null ? tag.status : `void since ${day(tag.voidedAt)}: ${tag.voidedBecause}`,
    tag.reprintedAt === null ? `printed ${day(tag.issuedAt)}` : `printed again ${day(tag.reprintedAt)}`,
    tag.stock,
    `page ${tag.page}, row ${tag.row}, column ${tag.column}`,
  ]);
  return `${bold('Tags')}\n${columns(rows, '  ')}`;
}

function observationsText(
  { id }: Plant,
  observations: readonly KnownObservation[],
  withdrawn: readonly Observation[],
): string {
  const more = withdrawn.length === 0 ? [] : [`  ${dim(`${withdrawn.length} taken back (--json lists it)`)}`];
  if (observations.length === 0) return [bold('Seen'), `  ${dim('nothing yet')}`, ...more].join('\n');
  const rows = observations.map((observation) => [
    observation.date,
    dim(`(${observation.number})`),
    dim(observation.by),
    [
      seenInWords(observation),
      ...(observation.recordedAs === id ? [] : [`recorded as ${observation.recordedAs}`]),
      ...(observation.doubtful ? [yellow('doubtful')] : []),
    ].join('; '),
  ]);
  return [bold('Seen'), columns(rows, '  '), ...more].join('\n');
}

function offspringText(offspring: readonly Plant[]): string {
  const rows = offspring.map((plant) => [bold(plant.id), plant.kind, plant.station ?? '', plant.key]);
  return `${bold('Taken from it')}\n${columns(rows, '  ')}`;
}
