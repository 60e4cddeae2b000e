import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { create } from 'tar';
import { describe, expect, it } from 'vitest';
import { backUp, restore } from '../../src/archive/backup.js';
import { checkLedger } from '../../src/ledger/check.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, freshFolder, ledgerWith, NOON, seedling } from '../support/ledger.js';

const quiet = () => {};

/** A ledger with three plants, a photo and a stock of the grower's own. */
async function smallLedger(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('A3-07'), seedling('=A3-08'), seedling('Ürsprung 無')]);
  const photo = keepFile(ledger.folder, 'photos', Buffer.from('a picture'), 'jpg');
  await ledger.write('wren', async (writer) => {
    const [id] = ids;
    if (id === undefined) throw new Error('no plant');
    await writer.append({
      kind: 'observed',
      body: { id, issue: null, date: '2026-09-14', values: { brix: 18.5 }, photo },
    });
  });
  mkdirSync(join(ledger.folder, 'layouts'));
  writeFileSync(join(ledger.folder, 'layouts', 'mine.json'), '{}');
  return ledger;
}

describe('a backup', () => {
  it('brings back the ledger with its photos and stocks', async () => {
    const { folder } = await smallLedger();
    const file = join(freshFolder(), 'copy.tar.gz');
    const backup = await backUp(folder, file);
    expect(backup).toMatchObject({ file, bytes: readFileSync(file).length, photos: 1, sheets: 0 });
    const again = join(freshFolder(), 'again');
    const report = await restore(file, again, quiet);
    expect(report).toEqual(checkLedger(folder, quiet));
    expect(report.findings).toEqual([]);
    const restored = openLedger(again, NOON);
    const keys = (await restored.plants({})).map(({ key }) => key);
    restored.close();
    expect(keys).toEqual(['A3-07', '=A3-08', 'Ürsprung 無']);
    expect(readFileSync(join(again, 'layouts', 'mine.json'), 'utf8')).toBe('{}');
    expect(readdirSync(join(again, 'photos'))).toEqual(readdirSync(join(folder, 'photos')));
  });

  // POSIX.1-2001 ustar and pax, RFC 1952: read by a program that shares no code with ours.
  it('is a gzipped tar', async () => {
    const { folder } = await smallLedger();
    const file = join(freshFolder(), 'copy.tar.gz');
    await backUp(folder, file);
    const listed = spawnSync('tar', ['-tzf', file], { encoding: 'utf8' });
    expect(listed.stdout.trim().split('\n')).toEqual([
      'ledger.sqlite',
      'ABOUT-THIS-FOLDER.txt',
      expect.stringMatching(/^photos\/[0-9a-f]{16}\.jpg$/),
      'layouts/mine.json',
    ]);
  });

  it('of a ledger in use holds whole writes only', async () => {
    const { ledger } = await ledgerWith([seedling('first')]);
    const file = join(freshFolder(), 'copy.tar.gz');
    const writing = (async () => {
      for (let round = 0; round < 20; round++) {
        await ledger.write('wren', (writer) =>
          enrolInto(writer, 5, [seedling(`${round} a`), seedling(`${round} b`)]),
        );
        await new Promise((done) => setImmediate(done));
      }
    })();
    await backUp(ledger.folder, file);
    await writing;
    const report = await restore(file, join(freshFolder(), 'again'), quiet);
    expect(report.findings).toEqual([]);
    expect(report.plants % 2).toBe(1);
  });

  it('leaves an older one alone when there is no ledger to copy', async () => {
    const file = join(freshFolder(), 'copy.tar.gz');
    writeFileSync(file, 'older');
    await expect(backUp(freshFolder(), file)).rejects.toMatchObject({ code: 'missing' });
    expect(readFileSync(file, 'utf8')).toBe('older');
  });
});

describe('restoring', () => {
  it('refuses a folder with anything in it', async () => {
    const { folder } = await smallLedger();
    const file = join(freshFolder(), 'copy.tar.gz');
    await backUp(folder, file);
    await expect(restore(file, folder, quiet)).rejects.toMatchObject({ code: 'folder-taken' });
    expect(checkLedger(folder, quiet).findings).toEqual([]);
  });

  it('takes nothing of a copy that is cut short or changed', async () => {
    const { folder } = await smallLedger();
    const place = freshFolder();
    const file = join(place, 'copy.tar.gz');
    await backUp(folder, file);
    const whole = readFileSync(file);
    const damaged = join(place, 'damaged.tar.gz');
    // The gzip header (RFC 1952, 2.3) has ten bytes, of which the time and the system say nothing of the content.
    const change = fc.tuple(fc.integer({ min: 10, max: whole.length - 1 }), fc.integer({ min: 1, max: 255 }));
    const cut = fc.integer({ min: 0, max: whole.length - 1 });
    await fc.assert(
      fc.asyncProperty(fc.oneof(change, cut), async (damage) => {
        const bytes = typeof damage === 'number' ? whole.subarray(0, damage) : Buffer.from(whole);
        if (typeof damage !== 'number') bytes[damage[0]] = (bytes[damage[0]] ?? 0) ^ damage[1];
        writeFileSync(damaged, bytes);
        await expect(restore(damaged, join(place, 'again'), quiet)).rejects.toMatchObject({
          code: expect.stringMatching(/^(damaged-backup|no-backup)$/),
        });
      }),
      { seed: 20261125, numRuns: 60 },
    );
    expect(readdirSync(place).sort()).toEqual(['copy.tar.gz', 'damaged.tar.gz']);
  });

  it('puts nothing outside its folder', async () => {
    const { folder } = await smallLedger();
    const place = freshFolder();
    writeFileSync(join(place, 'outside.txt'), 'mine');
    symlinkSync('/etc', join(place, 'photos'));
    for (const names of [['../outside.txt'], ['photos'], ['deep/er/file']]) {
      mkdirSync(join(place, 'deep/er'), { recursive: true });
      writeFileSync(join(place, 'deep/er/file'), '');
      const file = join(place, 'evil.tar.gz');
      const cwd = names[0]?.startsWith('..') ? join(place, 'deep') : place;
      await create({ file, cwd, gzip: true, preservePaths: true }, names);
      await expect(restore(file, join(place, 'again'), quiet)).rejects.toMatchObject({ code: 'no-backup' });
    }
    expect(readdirSync(place).sort()).toEqual(['deep', 'evil.tar.gz', 'outside.txt', 'photos']);
    expect(readFileSync(join(place, 'outside.txt'), 'utf8')).toBe('mine');
    expect(checkLedger(folder, quiet).findings).toEqual([]);
  });
});
