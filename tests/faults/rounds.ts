/**
 * A command is killed in the middle of writing, then everything is looked at: what must hold of the ledger, of
 * the files beside it, and of the same command run again.
 */
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { list } from 'tar';
import { checkLedger } from '../../src/ledger/check.js';
import { databaseFile } from '../../src/ledger/sqlite-ledger.js';
import { type JournalEntry, readJournal } from '../../src/ledger/transfer.js';
import { copyOf, type Garden, type Writing } from './garden.js';

export const LAUNCHER = join(import.meta.dirname, '../../bin/pottag.js');
export const STEPS = pathToFileURL(join(import.meta.dirname, 'steps.mjs')).href;

/** Before a step by which it changes a file or the database, or after a time. */
export type Moment = { readonly beforeStep: number } | { readonly afterMs: number };

export interface Ended {
  readonly status: number | null;
  readonly signal: string | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** What a command does when nobody ends it. */
export interface Undisturbed {
  readonly steps: number;
  readonly durationMs: number;
  /** The kinds of the entries that it appends. */
  readonly kinds: readonly string[];
}

/** Runs in a fresh copy of the garden, which is gone afterwards. */
export async function inCopy<T>(
  garden: Garden,
  work: (folder: string) => Promise<T>,
  parent = tmpdir(),
): Promise<T> {
  const folder = mkdtempSync(join(parent, 'pottag-fault-'));
  try {
    return await work(copyOf(garden, folder));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

export function run(
  folder: string,
  { args, input = '' }: Pick<Writing, 'args' | 'input'>,
  moment?: Moment,
  { env = {}, within = [] }: { readonly env?: NodeJS.ProcessEnv; readonly within?: readonly string[] } = {},
): Promise<Ended> {
  const { POTTAG_LEDGER: _ledger, ...others } = process.env;
  const killing =
    moment !== undefined && 'beforeStep' in moment ? { STEPS_KILL_BEFORE: `${moment.beforeStep}` } : {};
  const [program = '', ...words] = [...within, process.execPath, '--import', STEPS, LAUNCHER, ...args];
  const child = spawn(program, words, {
    cwd: folder,
    env: { ...others, POTTAG_BY: 'wren', NO_COLOR: '1', TZ: 'UTC', ...killing, ...env },
  });
  if (moment !== undefined && 'afterMs' in moment) {
    const timer = setTimeout(() => child.kill('SIGKILL'), moment.afterMs);
    child.once('close', () => clearTimeout(timer));
  }
  let [stdout, stderr] = ['', ''];
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    stderr += text;
  });
  child.stdin.on('error', () => {}); // It is killed while it is written to.
  child.stdin.end(input);
  return new Promise((resolve) =>
    child.once('close', (status, signal) => resolve({ status, signal, stdout, stderr })),
  );
}

export async function undisturbed(garden: Garden, writing: Writing): Promise<Undisturbed> {
  return inCopy(garden, async (folder) => {
    const before = entriesIn(join(folder, writing.ledger)).length;
    const countTo = join(folder, 'steps');
    const started = performance.now();
    const ended = await run(folder, writing, undefined, { env: { STEPS_COUNT_TO: countTo } });
    const durationMs = performance.now() - started;
    assert.equal(ended.status, writing.status, `${writing.name}: ${ended.stdout}${ended.stderr}`);
    const kinds = entriesIn(join(folder, writing.ledger))
      .slice(before)
      .map(({ kind }) => kind);
    return { steps: Number(readFileSync(countTo, 'utf8')), durationMs, kinds };
  });
}

/** One round; throws if anything does not hold. @returns whether the command was killed before it had ended */
export async function killedAt(
  garden: Garden,
  writing: Writing,
  moment: Moment,
  whole: Undisturbed,
): Promise<boolean> {
  return inCopy(garden, async (folder) => {
    const before = stateOf(folder, writing);
    const ended = await run(folder, writing, moment);
    const where = `${writing.name}, killed ${JSON.stringify(moment)}`;
    await holdsAfter(folder, writing, whole, before, ended, where);
    return ended.signal === 'SIGKILL';
  });
}

interface State {
  readonly entries: number;
  readonly names: readonly string[];
}

export function stateOf(folder: string, { ledger }: Writing): State {
  return { entries: entriesIn(join(folder, ledger)).length, names: readdirSync(folder) };
}

/** What holds after a command was ended, or gave up: also that it can be run again. */
export async function holdsAfter(
  folder: string,
  writing: Writing,
  whole: Undisturbed,
  before: State,
  ended: Ended,
  where: string,
): Promise<void> {
  const ledger = join(folder, writing.ledger);
  soundness(ledger, where);
  const appended = entriesIn(ledger)
    .slice(before.entries)
    .map(({ kind }) => kind);
  assert.deepEqual(appended, whole.kinds.slice(0, appended.length), where);
  if (writing.isInParts !== true) {
    const stops = [0, whole.kinds.length, ...(whole.kinds[0] === 'ledger-made' ? [1] : [])];
    assert(stops.includes(appended.length), `${where}: half of it is written: ${appended}`);
  }
  const all = (stdout: string) => (stdout === '' ? 0 : whole.kinds.length);
  const promised = (writing.promised ?? all)(ended.stdout);
  assert(appended.length >= promised, `${where}: it said it wrote ${promised} entries: ${ended.stdout}`);
  for (const name of writing.makes) await wholeness(join(folder, name), where);
  const left = readdirSync(folder).filter(
    (name) => !before.names.includes(name) && !writing.makes.includes(name),
  );
  assert(
    left.every((name) => name.startsWith('.pottag-')),
    `${where}: it left ${left}`,
  );

  const isMade = writing.makes.every((name) => existsSync(join(folder, name)));
  const isDone = isMade && appended.length === whole.kinds.length;
  const again = await run(folder, writing);
  const allowed = isDone ? [writing.status, writing.statusAgain] : [writing.status];
  const said = `${where}: again ended with ${again.status}: ${again.stdout}${again.stderr}`;
  assert(allowed.includes(again.status ?? -1), said);
  soundness(ledger, `${where}, and run again`);
  assert(entriesIn(ledger).length >= before.entries + whole.kinds.length, where);
  for (const name of writing.makes) {
    assert(existsSync(join(folder, name)), `${where}: ${name} is not there`);
    await wholeness(join(folder, name), where);
  }
}

/** What is left in the ledger's folder is told by check, and nothing is wrong with the rest. */
function soundness(ledger: string, where: string): void {
  if (entriesIn(ledger).length === 0) return;
  const { findings, remarks } = checkLedger(ledger, () => {});
  assert.deepEqual(findings, [], where);
  const told = new Set(remarks.map(({ where }) => where));
  for (const inFolder of ['', 'photos/', 'sheets/'].filter((name) => existsSync(join(ledger, name)))) {
    for (const name of readdirSync(join(ledger, inFolder)).filter((name) => name.startsWith('.'))) {
      assert(told.has(inFolder + name), `${where}: check does not tell of ${inFolder}${name}`);
    }
  }
}

/** @returns none for a ledger of which nothing is made yet */
export function entriesIn(ledger: string): JournalEntry[] {
  if (!existsSync(databaseFile(ledger))) return [];
  try {
    return [...readJournal(ledger)];
  } catch (error) {
    if (/no such table/.test(String(error))) return [];
    throw error;
  }
}

/** A file or folder is either not there or all of it is. */
async function wholeness(file: string, where: string): Promise<void> {
  if (!existsSync(file)) return;
  if (file.endsWith('.pdf')) {
    assert(readFileSync(file, 'latin1').trimEnd().endsWith('%%EOF'), `${where}: ${file} is not whole`);
  } else if (file.endsWith('.csv')) {
    assert.equal(readFileSync(file, 'utf8').trimEnd().split('\n').length, 21, where);
  } else if (file.endsWith('.gz')) {
    const names: string[] = [];
    await list({ file, strict: true, onReadEntry: ({ path }) => names.push(path) });
    assert(names.includes('ledger.sqlite'), where);
  } else if (existsSync(join(file, 'ledger.sqlite'))) {
    soundness(file, where);
  } else if (!file.endsWith('new')) {
    assert(existsSync(join(file, 'datapackage.json')), `${where}: ${file} is not whole`);
  }
}
