import type { Command } from 'commander';
import { PUT_BACK_A_COPY } from '../../ledger/database.js';
import { bold, columns, counted, green, red } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

export function addCheck(program: Command, run: Run): void {
  program
    .command('check')
    .description('Verify the whole ledger: its journal, its tables, its photos and printed sheets.')
    .addHelpText(
      'after',
      `
Exit code 3 if the ledger itself is damaged, 1 if only a photo or a printed sheet is missing
or changed.

Example:
  pottag check --ledger ./pottag-ledger`,
    )
    .action((_options: object, command: Command) => run(command, check));
}

async function check({ console, ledgerFolder }: Context): Promise<ExitCode> {
  const { checkLedger } = await import('../../ledger/check.js');
  const report = checkLedger(ledgerFolder, console.progress('checking'));
  const { entries, plants, tags, observations, findings, remarks } = report;
  const isDamaged = findings.some(({ kind }) => kind === 'damage');
  console.document({ ok: findings.length === 0, entries, plants, tags, observations, findings, remarks });
  const what = [counted(plants, 'plant'), counted(tags, 'tag'), counted(observations, 'observation')].join(
    ', ',
  );
  const remarked = columns(
    remarks.map(({ where, what }) => [where, what]),
    '  ',
  );
  if (findings.length === 0) {
    console.print(
      `${green(bold('Sound.'))} ${what}; ${counted(entries, 'entry', 'entries')} in an unbroken chain.`,
    );
    if (remarks.length > 0) console.talk(remarked);
    return 0;
  }
  console.print(`${red(bold(`${counted(findings.length, 'finding')}.`))} ${what}.`);
  console.print(
    columns(
      findings.map(({ where, what }) => [where, what]),
      '  ',
    ),
  );
  if (remarks.length > 0) console.talk(remarked);
  if (isDamaged) console.print(PUT_BACK_A_COPY);
  return isDamaged ? 3 : 1;
}
