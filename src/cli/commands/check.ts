import type { Command } from 'commander';
import { PUT_BACK_A_COPY } from '../../ledger/database.js';
import { COPIES_HOLD_IT } from '../../ledger/shared/server-errors.js';
import { counted } from '../../wording.js';
import { bold, columns, green, red } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

export function addCheck(program: Command, run: Run): void {
  program
    .command('check')
    .description('Verify the whole ledger: its journal, its tables, its photos and printed sheets.')
    .addHelpText(
      'after',
      `
Exit code 3 if the ledger itself is damaged, 1 if only a photo or a printed
sheet is missing or changed.

--rebuild makes a new ledger of what can be read in a damaged one, which stays
as it is: every entry that the chain of hashes proves unchanged, and those that
it cannot prove, named. What is lost or left out is listed, with its content as
far as there is any. Exit code 1 if there is any.

Examples:
  pottag check --ledger ./pottag-ledger
  pottag check --rebuild ./pottag-ledger-again`,
    )
    .option('--rebuild <folder>', 'make a new ledger there of what is sound in this one')
    .action((options: { rebuild?: string }, command: Command) =>
      run(command, (context) =>
        options.rebuild === undefined ? check(context) : rebuild(context, options.rebuild),
      ),
    );
}

async function check(context: Context): Promise<ExitCode> {
  const { console, place } = context;
  const { checkLedger } = await import('../../ledger/check.js');
  await place.bringUpToDate(context.now);
  const report = checkLedger(place.folder, console.progress('checking'));
  const { entries, plants, tags, observations, remarks } = report;
  const findings = [...report.findings, ...(await place.checkServer())];
  const isDamaged = findings.some(({ kind }) => kind === 'damage');
  const isDamagedHere = report.findings.some(({ kind }) => kind === 'damage');
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
  if (isDamaged) console.print(isDamagedHere ? PUT_BACK_A_COPY : COPIES_HOLD_IT);
  return isDamaged ? 3 : 1;
}

async function rebuild({ console, ledgerFolder, by, now }: Context, target: string): Promise<ExitCode> {
  const { rebuildLedger } = await import('../../archive/rebuild.js');
  const rebuilt = await rebuildLedger(ledgerFolder, target, by, now(), console.progress('checking'));
  const { report, entries, lost, unproven, leftOut, enrolledAnew } = rebuilt;
  console.document({
    ledger: target,
    carried_over: entries,
    lost,
    unproven,
    left_out: leftOut,
    enrolled_anew: enrolledAnew,
    plants: report.plants,
    tags: report.tags,
    observations: report.observations,
    findings: report.findings,
    remarks: report.remarks,
  });
  console.print(
    `${green(bold('Rebuilt'))} in ${target}: ${counted(entries, 'entry', 'entries')} carried over; ` +
      `${counted(report.plants, 'plant')}, ${counted(report.tags, 'tag')}, ${counted(report.observations, 'observation')}.`,
  );
  if (lost.length > 0) {
    const ranges = lost.map(({ first, last }) => (first === last ? `${first}` : `${first}–${last}`));
    console.print(`${red(bold('Lost'))}, nothing of them can be read: entries ${ranges.join(', ')}.`);
  }
  if (unproven.length > 0) {
    console.print(
      `Carried over, but nothing proves that they were not changed: entries ${unproven.join(', ')}.`,
    );
  }
  if (leftOut.length > 0) {
    console.print(`${red(bold('Left out'))}: enter what of it is right again.`);
    const rows = leftOut.map(({ entry, at, by, kind, body, why }) => [
      `entry ${entry}`,
      why,
      at,
      by,
      kind,
      body,
    ]);
    console.print(columns(rows, '  '));
  }
  if (enrolledAnew.length > 0) {
    const what = 'Their enrolment was lost; enrolled anew with what is still known of them';
    console.print(`${what}: ${enrolledAnew.join(', ')}. Look at them with pottag show.`);
  }
  if (lost.length > 0) {
    console.print(
      'Plants enrolled in lost entries of which nothing is left may wear tags whose IDs will be given again: look for tags that pottag scan calls unknown before you enrol more.',
    );
  }
  for (const { where, what } of report.findings) console.print(`  ${where}  ${what}`);
  const isWhole = [lost, unproven, leftOut, enrolledAnew, report.findings].every(
    ({ length }) => length === 0,
  );
  console.print(
    isWhole
      ? 'No entry of the old ledger was damaged: the new one holds the same. The old one is as it was.'
      : 'The damaged ledger is as it was. Keep it.',
  );
  return isWhole ? 0 : 1;
}
