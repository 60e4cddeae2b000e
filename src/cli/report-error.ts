/**
 * Errors in words: what was wrong, where, what to do. Each function returns the exit code.
 */
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { InputError, LedgerError, Place, Problem } from '../errors.js';
import { FAULTS_FOLDER } from '../ledger/folders.js';
import { withoutPassword } from '../wording.js';
import { bold, columns, dim, harmless, red } from './console.js';

/** More problems than this scroll the first ones away; --json has them all. */
const MOST_PROBLEMS_SHOWN = 50;

export function reportInputError(error: InputError, isJson: boolean): 2 {
  const { code, message, hint, place, problems } = error;
  if (isJson) printJson({ error: { code, message, hint, ...place }, problems });
  else {
    process.stderr.write(`${red(bold('Error:'))} ${harmless(placeInWords(place, message) + message)}\n`);
    if (problems.length > 1) process.stderr.write(`${harmless(problemList(problems))}\n`);
    process.stderr.write(`${harmless(hint)}\n`);
  }
  return 2;
}

export function reportLedgerError({ code, message, hint }: LedgerError, isJson: boolean): 3 {
  if (isJson) printJson({ error: { code, message, hint } });
  else process.stderr.write(`${red(bold('Error:'))} ${harmless(`${message}\n${hint}`)}\n`);
  return 3;
}

/** A fault of ours: a short text, the details in a file under the ledger. */
export function reportFault(
  error: unknown,
  ledgerFolder: string,
  argv: readonly string[],
  isJson: boolean,
): 70 {
  const details = error instanceof Error ? (error.stack ?? error.message) : String(error);
  const causes = error instanceof Error && error.cause !== undefined ? `\ncaused by ${error.cause}` : '';
  const folder = existsSync(ledgerFolder) ? join(ledgerFolder, FAULTS_FOLDER) : tmpdir();
  const file = join(folder, `pottag-fault-${new Date().toISOString().replaceAll(':', '-')}.txt`);
  let where: string;
  try {
    mkdirSync(folder, { recursive: true });
    writeFileSync(file, `pottag ${argv.map(withoutPassword).join(' ')}\n${details}${causes}\n`);
    where = `The details are in ${file}.`;
  } catch {
    where = details.split('\n')[0] ?? '';
  }
  const [message, hint] = ['A fault of Pottag itself.', `${where} What was recorded before is safe.`];
  if (isJson) printJson({ error: { code: 'fault', message, hint } });
  else process.stderr.write(`${red(bold(message))} ${harmless(hint)}\n`);
  return 70;
}

/** One line a problem: line, column, what is wrong. */
export function problemList(problems: readonly Problem[]): string {
  const shown = problems.slice(0, MOST_PROBLEMS_SHOWN);
  const rows = shown.map(({ line, column, problem }) => [
    line === null ? '' : `line ${line}`,
    column ?? '',
    problem,
  ]);
  const more = problems.length - shown.length;
  const rest = more > 0 ? `\n  ${dim(`… and ${more} more (--json lists all)`)}` : '';
  return columns(rows, '  ') + rest;
}

/** Not what the message says itself. */
function placeInWords({ file, line, column }: Place, message: string): string {
  const parts = [
    file !== undefined && message.includes(file) ? undefined : file,
    line === undefined ? undefined : `line ${line}`,
    column,
  ].filter((part) => part !== undefined);
  return parts.length === 0 ? '' : `${parts.join(', ')}: `;
}

function printJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}
