import type { Command } from 'commander';
import type { Conflict } from '../../archive/conflicts.js';
import { counted } from '../../wording.js';
import { bold, green, red } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

const MORE_HELP = `
Each entry comes home once, with the time and author it was recorded with;
merging again, or several copies in any order, makes no difference. What was
recorded counts as recorded when the copy was made: if tags were found exchanged
since, it is put under the right plant. Nothing is left out. What may not be
right together with what was recorded meanwhile is listed, and the exit code is
1.

Only the ledger at home takes in what copies recorded; two copies are both
merged there.

Examples:
  pottag merge /media/stick/field-ledger
  pottag merge field-laptop-2026-09-14.tar.gz`;

export function addMerge(program: Command, run: Run): void {
  program
    .command('merge')
    .description('Bring home what was recorded in a field copy.')
    .argument('<copy>', 'its folder, or a backup of it')
    .addHelpText('after', MORE_HELP)
    .action((from: string, _options: object, command: Command) =>
      run(command, (context) => merge(context, from)),
    );
}

async function merge({ console, by, withLedger }: Context, from: string): Promise<ExitCode> {
  const { mergeCopy } = await import('../../archive/merge.js');
  return withLedger<ExitCode>(async (ledger) => {
    const merged = await mergeCopy(ledger, from, by, console.progress('checking'));
    const { device, brought, observations, known, photos, conflicts } = merged;
    console.document({
      device,
      brought,
      observations,
      known,
      photos,
      findings: conflicts.map((conflict) => ({ ...conflictJson(conflict), what: inWords(conflict) })),
    });
    const news =
      brought === 0
        ? `${bold('Nothing new')} in the field copy "${device}"`
        : `${green(bold('Merged'))} the field copy "${device}": ${counted(observations, 'observation')} and ${counted(photos, 'photo')} brought home`;
    console.print(
      `${news}; ${counted(known, 'entry', 'entries')} of it ${known === 1 ? 'was' : 'were'} here already.`,
    );
    if (conflicts.length === 0) return 0;
    console.print(red(bold(`${counted(conflicts.length, 'finding')} to look at; nothing was left out:`)));
    for (const conflict of conflicts) console.print(`  ${inWords(conflict)}`);
    return 1;
  });
}

function conflictJson(conflict: Conflict) {
  if (conflict.kind !== 'exchanged') return conflict;
  const { recordedAs, ...others } = conflict;
  return { ...others, recorded_as: recordedAs };
}

function inWords(conflict: Conflict): string {
  if (conflict.kind === 'photo') {
    return `The photo ${conflict.file} of ${conflict.entry} is missing or changed in the copy. Put it back there and merge again.`;
  }
  const { id, date, number } = conflict;
  const seen = `[${number}] ${id}, seen ${date}:`;
  switch (conflict.kind) {
    case 'ended':
      return `${seen} it ended ${conflict.ended}. Is it the right plant? If it shoots again, record --alive yes.`;
    case 'old-tag':
      return `${seen} by its tag ${conflict.issue}, which was given up or replaced on ${conflict.since}. Look which pot it hung on.`;
    case 'exchanged':
      return `${seen} recorded as ${conflict.recordedAs}; the tags hung in each other's places then, so it counts for ${id}.`;
    case 'doubtful':
      return `${seen} tags hung in each other's places about then, and it is not said since when. pottag show ${id} says what settles it.`;
    case 'alive':
      return `${seen} alive ${conflict.alive}; [${conflict.other}] of the same day says the opposite. Undo the wrong one.`;
    case 'taken-back-here':
      return `${seen} it was taken back here, and then in the copy. It ${standing(conflict.stands)} now.`;
    case 'put-back-here':
      return `${seen} it was put back here, and then in the copy. It ${standing(conflict.stands)} now.`;
    case 'differs':
      return `${seen} the copy says ${JSON.stringify(conflict.values)}, which is not what is here. One of the two was changed: check both ledgers.`;
  }
}

function standing(stands: boolean): string {
  return stands ? 'stands' : 'is taken back';
}
