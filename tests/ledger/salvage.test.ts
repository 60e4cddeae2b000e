/** A new ledger of what can be read in a damaged one. */
import { copyFileSync, cpSync, existsSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Rebuilt, rebuildLedger } from '../../src/archive/rebuild.js';
import { checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import type { JournalEntry } from '../../src/ledger/journal.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { databaseFile, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { enrolInto, freshFolder, freshLedger, NOON, seedling } from '../support/ledger.js';

const quiet = () => {};
const PLANTS = 60;
/** So that some entries take several pages. */
const LONG = 'long '.repeat(3000);

/** Plants, some tags and corrections, and an observation of each, over some thirty pages. */
async function garden(): Promise<Ledger> {
  const ledger = await freshLedger();
  const plants = Array.from({ length: PLANTS }, (_, index) =>
    seedling(`plant ${index}`, { note: index % 20 === 7 ? LONG : 'é'.repeat(100) }),
  );
  const ids = await ledger.write('wren', (writer) => enrolInto(writer, 5, plants));
  const seen: string[] = [];
  for (const [index, id] of ids.entries()) {
    await ledger.write('wren', async (writer) => {
      const values = { note: `note ${index} ${'x'.repeat(60)}` };
      const body = { id, issue: null, date: '2026-09-14', values, photo: null };
      seen.push((await writer.append({ kind: 'observed', body })).id);
    });
  }
  await ledger.write('wren', async (writer) => {
    await writer.append({ kind: 'withdrawn', body: { entry: seen[5] ?? '', why: 'a slip' } });
    await writer.append({ kind: 'changed', body: { what: 'undo', words: 'a slip', entries: 1 } });
  });
  return ledger;
}

/** A copy of the ledger's folder, closed, to be damaged. */
async function damagedCopy(ledger: Ledger, damage: (file: string) => void): Promise<string> {
  const database = Database.openOrCreate(databaseFile(ledger.folder));
  database.pragma('wal_checkpoint(TRUNCATE)');
  database.close();
  const folder = join(freshFolder(), 'damaged');
  cpSync(ledger.folder, folder, { recursive: true });
  damage(databaseFile(folder));
  return folder;
}

async function rebuilt(folder: string): Promise<Rebuilt & { readonly folder: string }> {
  const target = join(freshFolder(), 'again');
  const before = readFileSync(databaseFile(folder));
  const result = await rebuildLedger(folder, target, 'wren', NOON(), quiet);
  expect(readFileSync(databaseFile(folder)).equals(before), 'the damaged one stays as it was').toBe(true);
  expect(checkLedger(target, quiet).findings).toEqual([]);
  return { ...result, folder: target };
}

const entriesOf = (folder: string) => [...readJournal(folder)];
const content = ({ id, at, by, kind, body }: JournalEntry) => JSON.stringify([id, at, by, kind, body]);

describe('rebuilding', () => {
  it('a ledger whose tables are damaged gives the same journal, hash by hash', async () => {
    const ledger = await garden();
    const folder = await damagedCopy(ledger, (file) => {
      const database = Database.openOrCreate(file);
      database.execute(
        "UPDATE plant SET station = 'elsewhere'; DROP TABLE observation; DROP VIEW open_doubt",
      );
      database.close();
    });
    const again = await rebuilt(folder);
    expect(again).toMatchObject({ lost: [], unproven: [], leftOut: [], enrolledAnew: [] });
    expect(entriesOf(again.folder)).toEqual(entriesOf(ledger.folder));
  });

  it('one whose first page is lost, so that SQLite knows no database in it, is whole', async () => {
    const ledger = await garden();
    const folder = await damagedCopy(ledger, (file) => {
      const bytes = readFileSync(file);
      writeFileSync(file, bytes.fill(0, 0, 4096));
    });
    expect(() => openLedger(folder, NOON)).toThrow(/damaged/);
    expect(entriesOf((await rebuilt(folder)).folder)).toEqual(entriesOf(ledger.folder));
  });

  it('an entry that was changed is left out and listed, with its content; its neighbours are proven', async () => {
    const ledger = await garden();
    const folder = await damagedCopy(ledger, (file) => {
      const bytes = readFileSync(file);
      const at = bytes.indexOf('note 30 ');
      bytes.write('note 39 ', at);
      writeFileSync(file, bytes);
    });
    const again = await rebuilt(folder);
    expect(again).toMatchObject({ lost: [], unproven: [], enrolledAnew: [], entries: 1 + 2 * PLANTS + 1 });
    expect(again.leftOut).toMatchObject([
      { entry: 1 + PLANTS + 31, why: 'its content was changed', kind: 'observed' },
    ]);
    expect(again.leftOut[0]?.body).toContain('note 39 ');
  });

  it('a plant whose enrolment was changed keeps its ID, what its row says and what was seen on it', async () => {
    const ledger = await garden();
    const [plant] = await ledger.plantsByKeys(['plant 12']);
    if (plant === undefined) throw new Error('plant 12');
    const folder = await damagedCopy(ledger, (file) => {
      const bytes = readFileSync(file);
      const at = bytes.indexOf('"key":"plant 12"');
      bytes.write('{{{', at);
      writeFileSync(file, bytes);
    });
    const again = await rebuilt(folder);
    expect(again.enrolledAnew).toEqual([plant.id]);
    const opened = openLedger(again.folder, NOON);
    expect(await opened.plant(plant.id)).toEqual(plant);
    expect(await opened.observations(plant.id)).toHaveLength(1);
    opened.close();
  });

  it('of a file cut short, all that is not cut off is there, and what may be lost is told', async () => {
    const ledger = await garden();
    const folder = await damagedCopy(ledger, (file) =>
      truncateSync(file, Math.floor(readFileSync(file).length / 2)),
    );
    const again = await rebuilt(folder);
    expect(again.entries).toBeGreaterThan(10);
    expect(again.lost.length).toBeGreaterThan(0);
  });

  it('of a write-ahead file damaged early, takes what SQLite would drop; check says so before it is dropped', async () => {
    const ledger = await garden();
    const folder = join(freshFolder(), 'damaged');
    cpSync(ledger.folder, folder, { recursive: true });
    const walFile = `${databaseFile(folder)}-wal`;
    const wal = readFileSync(walFile);
    wal[32 + 24 + 2000] = (wal[32 + 24 + 2000] ?? 0) ^ 1; // In the content of its first page.
    writeFileSync(walFile, wal);
    expect(() => checkLedger(folder, quiet)).toThrow(/\d+ writes in it would be lost/);
    expect(readFileSync(walFile).equals(wal)).toBe(true);
    expect(entriesOf((await rebuilt(folder)).folder)).toEqual(entriesOf(ledger.folder));
  });

  it('whatever is damaged, nothing is invented, and every entry is carried over, left out or lost', async () => {
    const ledger = await garden();
    const file = databaseFile(await damagedCopy(ledger, () => {}));
    const sound = readFileSync(file);
    const originals = new Set(entriesOf(ledger.folder).map(content));
    const damage = fc.record({
      at: fc.nat(sound.length - 1),
      length: fc.constantFrom(1, 8, 600, 4096, 20_000),
      byte: fc.nat(255),
    });
    let carried = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(damage, { minLength: 1, maxLength: 4 }), async (damages) => {
        const bytes = Buffer.from(sound);
        for (const { at, length, byte } of damages) {
          for (let index = at; index < Math.min(at + length, bytes.length); index++)
            bytes[index] = (bytes[index] ?? 0) ^ (byte || 1);
        }
        writeFileSync(file, bytes);
        const folder = join(file, '..');
        const again = await rebuilt(folder).catch((error: { code?: string }) => {
          expect(error.code).toBe('damaged'); // Nothing at all can be read.
          return undefined;
        });
        if (again === undefined) return;
        const kept = entriesOf(again.folder).map(content);
        // Stand-ins for lost enrolments, a first entry anew, and what cannot be proven, which is named.
        const strange = kept.filter((entry) => !originals.has(entry)).length;
        expect(strange).toBeLessThanOrEqual(again.enrolledAnew.length + 1 + again.unproven.length);
        const told = new Set(again.leftOut.map(({ entry }) => entry));
        for (const { first, last } of again.lost) for (let seq = first; seq <= last; seq++) told.add(seq);
        for (const seq of again.unproven) told.add(seq);
        // Nothing tells how long the journal was but what is left of it: all before its last trace is accounted for.
        const carriedOver = new Set(kept);
        const silent = entriesOf(ledger.folder).filter(
          (entry) => !carriedOver.has(content(entry)) && !told.has(entry.seq),
        );
        expect(silent.map(({ seq }) => seq)).toEqual(
          silent.map((_, index) => originals.size - silent.length + 1 + index),
        );
        carried += again.entries;
      }),
      { seed: 20261125, numRuns: 25 },
    );
    expect(carried).toBeGreaterThan(25 * originals.size * 0.5);
  });

  it('refuses a folder that is taken, and what is no ledger', async () => {
    const ledger = await garden();
    const target = join(freshFolder(), 'again');
    const empty = freshFolder();
    await expect(rebuildLedger(ledger.folder, empty, 'wren', NOON(), quiet)).resolves.toMatchObject({
      lost: [],
    });
    await expect(rebuildLedger(ledger.folder, empty, 'wren', NOON(), quiet)).rejects.toMatchObject({
      code: 'folder-taken',
    });
    const other = freshFolder();
    await expect(rebuildLedger(other, target, 'wren', NOON(), quiet)).rejects.toMatchObject({
      code: 'missing',
    });
    copyFileSync(import.meta.filename, databaseFile(other));
    await expect(rebuildLedger(other, target, 'wren', NOON(), quiet)).rejects.toMatchObject({
      code: 'damaged',
    });
    expect(existsSync(target)).toBe(false);
  });
});
