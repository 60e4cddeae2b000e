/**
 * What a power cut leaves: the settings with which SQLite promises that a commit outlasts it, and the files as
 * they can be found after one. A commit is flushed before it is acknowledged with `synchronous` FULL in WAL
 * mode (sqlite.org/pragma.html#pragma_synchronous); of what was written later any part may be missing.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import {
  copyFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  readFileSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import type { JournalEntry } from '../../src/ledger/journal.js';
import { createLedger, databaseFile } from '../../src/ledger/sqlite-ledger.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { enrolInto, freshFolder, freshLedger, NOON, seedling } from '../support/ledger.js';
import { seededRandom } from '../support/random.js';

const quiet = () => {};
const WRITES = 3000;
const HEADER_BYTES = 32;

it('every connection has the settings with which SQLite promises durability', async () => {
  const ledger = await freshLedger();
  const database = Database.openOrCreate(databaseFile(ledger.folder));
  expect(['journal_mode', 'synchronous', 'fullfsync'].map((name) => database.pragma(name))).toEqual([
    'wal',
    2,
    1,
  ]);
  database.close();
});

interface Writer {
  readonly child: ChildProcess;
  acknowledged(): number;
}

/** A process that writes one entry after another and says so after each. */
async function writer(folder: string): Promise<Writer> {
  const source = join(import.meta.dirname, '../../src/ledger/sqlite-ledger.ts');
  const script = `
    import { writeSync } from 'node:fs';
    import { openLedger } from ${JSON.stringify(source)};
    const ledger = openLedger(${JSON.stringify(folder)}, () => new Date());
    for (let n = 1; n <= ${WRITES}; n++) {
      const body = { id: 'PXSV9', issue: null, date: '2026-09-14', values: { note: 'n' + n + 'x'.repeat(200) }, photo: null };
      await ledger.write('wren', (writer) => writer.append({ kind: 'observed', body }));
      writeSync(1, n + '\\n');
    }`;
  const child = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', script]);
  onTestFinished(() => void child.kill('SIGKILL'));
  let said = '';
  child.stdout.on('data', (text) => {
    said = (said + text).slice(-40);
  });
  await new Promise((resolve) => child.stdout.once('data', resolve));
  return { child, acknowledged: () => Number(/(\d+)\n[^\n]*$/.exec(said)?.[1] ?? 0) };
}

async function garden(): Promise<string> {
  const folder = join(freshFolder(), 'ledger');
  const ledger = await createLedger(folder, 5, 'wren', NOON);
  await ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling('a')]));
  ledger.close();
  return folder;
}

/** The two files of a ledger, put into a folder as a crash leaves them. */
function imageOf(folder: string): string {
  const image = join(freshFolder(), 'image');
  mkdirSync(image);
  for (const file of [databaseFile(folder), `${databaseFile(folder)}-wal`]) {
    if (existsSync(file))
      copyFileSync(file, join(image, file.endsWith('-wal') ? 'ledger.sqlite-wal' : 'ledger.sqlite'));
  }
  return image;
}

/** Its journal, and that it is sound and goes on like `whole` up to some entry. */
function prefixIn(image: string, whole: readonly JournalEntry[]): number {
  expect(checkLedger(image, quiet).findings).toEqual([]);
  const entries = [...readJournal(image)];
  expect(entries).toEqual(whole.slice(0, entries.length));
  return entries.length;
}

it('killed at any moment, the files hold all that was acknowledged and nothing by halves', async () => {
  const random = seededRandom(20261125);
  const folder = await garden();
  const { child, acknowledged } = await writer(folder);
  const ended = new Promise((resolve) => child.once('close', resolve));
  const images: { image: string; least: number }[] = [];
  for (let round = 0; round < 12 && child.exitCode === null; round++) {
    await new Promise((resolve) => setTimeout(resolve, random.between(1, 60)));
    child.kill('SIGSTOP'); // The files as they are at one moment.
    const least = acknowledged();
    images.push({ image: imageOf(folder), least });
    child.kill('SIGCONT');
  }
  child.kill('SIGKILL');
  await ended;
  const whole = [...readJournal(imageOf(folder))];
  expect(images.at(-1)?.least).toBeGreaterThan(10);
  for (const { image, least } of images) expect(prefixIn(image, whole)).toBeGreaterThanOrEqual(2 + least);
});

it('cut off anywhere, or filled with anything from there on, the write-ahead file still gives a beginning', async () => {
  const random = seededRandom(20261126);
  const folder = await garden();
  const { child, acknowledged } = await writer(folder);
  while (acknowledged() < 60) await new Promise((resolve) => setTimeout(resolve, 5));
  child.kill('SIGKILL');
  await new Promise((resolve) => child.once('close', resolve));
  const crashed = imageOf(folder);
  const whole = [...readJournal(imageOf(folder))];
  const size = statSync(`${databaseFile(crashed)}-wal`).size;
  const lengths = new Set<number>();
  for (let round = 0; round < 30; round++) {
    const image = imageOf(crashed);
    const wal = `${databaseFile(image)}-wal`;
    // From the last third on: what comes before had been flushed.
    const cut = HEADER_BYTES + Math.floor(random.between(0.66, 1) * (size - HEADER_BYTES));
    if (round % 2 === 0) truncateSync(wal, cut);
    else {
      const bytes = readFileSync(wal);
      for (let at = cut; at < bytes.length; at++) bytes[at] = random.below(256);
      writeFileSync(wal, bytes);
    }
    lengths.add(prefixIn(image, whole));
  }
  expect(lengths.size).toBeGreaterThan(5);
});

it('a folder copied while it is written is sound up to some entry, or check says that it is damaged', async () => {
  const random = seededRandom(20261127);
  const folder = await garden();
  const { child } = await writer(folder);
  const ended = new Promise((resolve) => child.once('close', resolve));
  const copies: string[] = [];
  for (let round = 0; round < 8 && child.exitCode === null; round++) {
    await new Promise((resolve) => setTimeout(resolve, random.between(1, 60)));
    const copy = join(freshFolder(), 'copy');
    cpSync(folder, copy, { recursive: true });
    copies.push(copy);
  }
  child.kill('SIGKILL');
  await ended;
  const whole = [...readJournal(imageOf(folder))];
  for (const copy of copies) {
    let isSound = false;
    try {
      isSound = checkLedger(copy, quiet).findings.length === 0;
    } catch (error) {
      expect(error).toMatchObject({ code: 'damaged' });
    }
    if (!isSound) continue;
    const entries = [...readJournal(copy)];
    expect(entries).toEqual(whole.slice(0, entries.length));
  }
});
