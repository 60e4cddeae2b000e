import type { Command } from 'commander';
import type { Observation, Plant, Tag } from '../../ledger/model.js';
import { bold, columns, dim } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
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
  const { resolve } = await import('../../scan/resolve.js');
  const { unresolvedPlant } = await import('../../scan/unresolved.js');
  return context.withLedger<ExitCode>(async (ledger) => {
    const resolution = await resolve(ledger, text);
    if (resolution.plant === null) throw unresolvedPlant(resolution, ledger.idLength);
    const plant = resolution.plant;
    const tags = await ledger.tags(plant.id);
    const observations = await ledger.observations(plant.id);
    context.console.document({
      plant: plantJson(plant),
      tags: tags.map((tag) => tagJson(plant.id, tag)),
      observations: observations.map(observationJson),
      type: { called: plant.type ?? 'open', stated: plant.type },
    });
    context.console.print([plantText(plant), tagsText(tags), observationsText(observations)].join('\n\n'));
    return 0;
  });
}

function plantText(plant: Plant): string {
  const state = plant.ended === null ? plant.kind : `${plant.kind}, ended ${plant.ended}`;
  const facts: (readonly [string, string | null])[] = [
    ['key', plant.key],
    ['cross', crossOf(plant)],
    ['origin', plant.origin],
    ['sown', plant.sown],
    ['station', plant.station],
    ['type', plant.type ?? (plant.kind === 'parent' ? null : 'open')],
    ['note', plant.note?.replaceAll('\n', '\n         ') ?? null],
    ...Object.entries(plant.extra),
  ];
  const known = facts.flatMap(([name, value]) => (value === null ? [] : [[name, value] as const]));
  return `${bold(plant.id)}  ${state}\n${columns(known, '  ')}`;
}

function tagsText(tags: readonly Tag[]): string {
  if (tags.length === 0) return `${bold('Tags')}\n  ${dim('none printed yet')}`;
  const rows = tags.map((tag) => [
    `issue ${tag.issue}`,
    tag.status,
    `printed ${tag.issuedAt.slice(0, 10)}`,
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
