import type { Command } from 'commander';
import type { TypeJudgement } from '../../breeding/fig-types.js';
import type { LedgerReader } from '../../ledger/ledger.js';
import type { Observation, Plant, Tag } from '../../ledger/model.js';
import { resolve } from '../../scan/resolve.js';
import { unresolvedPlant, whatToDo } from '../../scan/unresolved.js';
import { bold, columns, dim, yellow } from '../console.js';
import { type Context, type ExitCode, localDay, type Run } from '../context.js';
import { crossOf, observationJson, plantJson, tagJson } from '../json.js';
import { seenInWords } from '../words.js';

export function addShow(program: Command, run: Run): void {
  program
    .command('show')
    .description("Show a plant's whole record: where it comes from, its tags, what was seen.")
    .argument('<id>', 'the ID, or the text of a tag (K7FY5 or K7FY5.2)')
    .addHelpText('after', '\nExample:\n  pottag show K7FY5')
    .action((id: string, _options: object, command: Command) => run(command, (context) => show(context, id)));
}

async function show(context: Context, text: string): Promise<ExitCode> {
  return context.withLedger<ExitCode>(async (ledger) => {
    const resolution = await resolve(ledger, text);
    if (resolution.plant === null) throw unresolvedPlant(resolution, ledger.idLength);
    const { plant, status } = resolution;
    const tags = await ledger.tags(plant.id);
    const observations = await ledger.observations(plant.id);
    const offspring = await ledger.plantsFrom(plant.id);
    const judgement = await judgedType(ledger, plant);
    const { typeInWords, typeJson } = await import('../type-words.js');
    context.console.document({
      plant: plantJson(plant),
      tags: tags.map((tag) => tagJson(plant.id, tag)),
      observations: observations.map(observationJson),
      type: judgement === null ? { stated: plant.type } : typeJson(judgement),
      taken_from_it: offspring.map(plantJson),
      status,
    });
    const parts = [plantText(plant), tagsText(tags), observationsText(observations)];
    if (judgement !== null) parts.push(typeInWords(judgement));
    if (offspring.length > 0) parts.push(offspringText(offspring));
    context.console.print(parts.join('\n\n'));
    const todo = whatToDo(resolution, ledger.idLength);
    if (todo === null) return 0;
    context.console.print(`\n${yellow(`${resolution.text} is ${status}.`)} ${todo}`);
    return 1;
  });
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

function observationsText(observations: readonly Observation[]): string {
  if (observations.length === 0) return `${bold('Seen')}\n  ${dim('nothing yet')}`;
  const rows = observations.map((observation) => [
    observation.date,
    seenInWords(observation),
    dim(`by ${observation.by}`),
  ]);
  return `${bold('Seen')}\n${columns(rows, '  ')}`;
}

function offspringText(offspring: readonly Plant[]): string {
  const rows = offspring.map((plant) => [bold(plant.id), plant.kind, plant.station ?? '', plant.key]);
  return `${bold('Taken from it')}\n${columns(rows, '  ')}`;
}
