import { type Command, Option } from 'commander';
import { VOID_REASONS, type VoidReason } from '../../sheets/retag.js';
import { bold } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { howToUndo, plantInWords } from '../words.js';

const MORE_HELP = `
The plant keeps its ID; only the tag is given up. A scan of it says "void" from
now on.

Examples:
  pottag retag K7FY5 --why faded
  pottag tags --queued --stock a4-65-38x21 --out replacements.pdf`;

export function addRetag(program: Command, run: Run): void {
  program
    .command('retag')
    .description("Give up a plant's tag and queue its next issue for printing.")
    .argument('<id>', 'the plant')
    .addOption(
      new Option('--why <reason>', 'what happened to the tag').choices(VOID_REASONS).makeOptionMandatory(),
    )
    .addHelpText('after', MORE_HELP)
    .action((id: string, { why }: { why: VoidReason }, command: Command) =>
      run(command, (context) => retag(context, id, why)),
    );
}

async function retag(context: Context, text: string, why: VoidReason): Promise<ExitCode> {
  const { choosePlants } = await import('../../plants/select.js');
  const { voidTag } = await import('../../sheets/retag.js');
  const { console } = context;
  return context.withLedger<ExitCode>(async (ledger) => {
    for (const plant of await choosePlants(ledger, { ids: [text] })) {
      const { voided, next, change } = await voidTag(ledger, plant, why, context.by);
      console.document({ id: plant.id, voided, why, queued: next, change: change.number });
      console.print(
        `${bold(`${plant.id}.${voided}`)} is void (${why}); ${bold(`${plant.id}.${next}`)} is queued.`,
      );
      console.print(`  ${plantInWords(plant)}`);
      console.talk('pottag tags --queued --stock NAME --out FILE.pdf prints what is queued.');
      console.talk(howToUndo(change.number));
    }
    return 0;
  });
}
