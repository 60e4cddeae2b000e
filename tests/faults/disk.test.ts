/** Disks that are full, or take no writing: exit code 3 or 2, clear words, nothing half written, and all well again after. */
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, onTestFinished, type TestContext } from 'vitest';
import { type Garden, LEDGER, makeGarden, type Writing } from './garden.js';
import { type Ended, entriesIn, holdsAfter, inCopy, run, stateOf, undisturbed } from './rounds.js';

const IS_ROOT = process.getuid?.() === 0;

let garden: Garden;
beforeAll(async () => {
  garden = await makeGarden();
});
afterAll(() => rmSync(garden.bench.folder, { recursive: true, force: true }));

const named = (...names: string[]): Writing[] => garden.writings.filter(({ name }) => names.includes(name));

/** A disk of its own in memory; skips the test where that is not allowed. */
function smallDisk(context: TestContext, sizeKb: number): string {
  const folder = mkdtempSync(join(tmpdir(), 'pottag-disk-'));
  const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${sizeKb}k`, 'tmpfs', folder]);
  onTestFinished(() => {
    if (mounted.status === 0) spawnSync('umount', ['--lazy', folder]);
    rmSync(folder, { recursive: true, force: true });
  });
  context.skip(mounted.status !== 0, 'no disk can be mounted here: it takes the rights of root');
  return folder;
}

/** Of an attempt that failed: a code of the contract, words for a person. */
function explained(ended: Ended, where: string): void {
  assert.equal(ended.status, 3, `${where}: ${ended.stdout}${ended.stderr}`);
  assert.match(ended.stderr, /full|as large as|cannot be opened or written/, where);
  assert.doesNotMatch(ended.stderr, /^\s+at |fault of Pottag/m, where);
}

describe('a full disk', () => {
  // Rooms that run out while the write-ahead file, the ledger, or what is made beside it is written.
  const ROOMS_KB = [0, 12, 40, 110];

  it('at any fill, nothing is lost or half there, and all goes on when there is room again', async (context) => {
    const disk = smallDisk(context, 8192);
    let refused = 0;
    const writings = garden.writings.filter(({ name }) => !/proof|amend|retag|undo|exchange/.test(name));
    for (const [index, writing] of writings.entries()) {
      const whole = await undisturbed(garden, writing);
      for (const roomKb of [ROOMS_KB[index % ROOMS_KB.length] ?? 0]) {
        const where = `${writing.name}, with ${roomKb} kB left`;
        await inCopy(
          garden,
          async (folder) => {
            const before = stateOf(folder, writing);
            const ballast = join(disk, 'ballast');
            const { bavail, bsize } = statfsSync(disk);
            writeFileSync(ballast, Buffer.alloc(Math.max(0, bavail * bsize - roomKb * 1024)));
            const ended = await run(folder, writing);
            rmSync(ballast);
            if (ended.status !== writing.status) {
              explained(ended, where);
              refused++;
            }
            await holdsAfter(folder, writing, whole, before, ended, where);
          },
          disk,
        );
      }
    }
    expect(refused).toBeGreaterThan(5);
  }, 240_000);

  // EFBIG: what a disk says whose files can only be so large, and what a limit of the shell gives.
  it('where files can be only so large, the same holds', async (context) => {
    context.skip(process.platform === 'win32', 'no ulimit');
    let refused = 0;
    for (const writing of named('enrol', 'tags', 'scan', 'backup', 'import')) {
      const whole = await undisturbed(garden, writing);
      for (const limitKb of [1, 96]) {
        await inCopy(garden, async (folder) => {
          const before = stateOf(folder, writing);
          const within = ['bash', '-c', `ulimit -f ${limitKb}; exec "$@"`, 'limited'];
          const ended = await run(folder, writing, undefined, { within });
          const where = `${writing.name}, files of at most ${limitKb} kB`;
          if (ended.status !== writing.status) {
            explained(ended, where);
            refused++;
          }
          await holdsAfter(folder, writing, whole, before, ended, where);
        });
      }
    }
    expect(refused).toBeGreaterThan(4);
  }, 120_000);
});

describe('a ledger in a folder that cannot be written', () => {
  it('ends every command that needs it with 3, in clear words, and a file that cannot be written with 2', async (context) => {
    if (IS_ROOT) {
      const disk = smallDisk(context, 8192);
      const before = await inCopy(
        garden,
        async (folder) => {
          spawnSync('mount', ['-o', 'remount,ro', disk]);
          try {
            await refusals(folder);
          } finally {
            spawnSync('mount', ['-o', 'remount,rw', disk]);
          }
          return entriesIn(join(folder, LEDGER)).length;
        },
        disk,
      );
      expect(before).toBe(entriesIn(garden.bench.file(LEDGER)).length);
    } else {
      await inCopy(garden, async (folder) => {
        chmodSync(join(folder, LEDGER), 0o555);
        chmodSync(join(folder, LEDGER, 'ledger.sqlite'), 0o444);
        chmodSync(folder, 0o555);
        await refusals(folder);
        chmodSync(folder, 0o755);
        chmodSync(join(folder, LEDGER), 0o755);
      });
    }
  });

  async function refusals(folder: string): Promise<void> {
    for (const writing of named(
      'enrol',
      'tags',
      'scan',
      'scan, a session',
      'retag',
      'backup',
      'export',
      'restore',
    )) {
      const ended = await run(folder, writing);
      expect([2, 3], `${writing.name}: ${ended.stdout}${ended.stderr}`).toContain(ended.status);
      expect(ended.stderr).toMatch(/cannot be (opened|written|made)/);
      expect(ended.stderr).not.toMatch(/^\s+at |fault of Pottag/m);
    }
  }

  it('a target that cannot be replaced leaves the ledger as it was', async () => {
    const [enrol] = named('enrol');
    if (enrol === undefined) throw new Error('no enrol');
    await inCopy(garden, async (folder) => {
      const before = entriesIn(join(folder, LEDGER)).length;
      mkdirSync(join(folder, 'out.csv'));
      const ended = await run(folder, enrol);
      expect(ended.status, ended.stdout).toBe(2);
      expect(entriesIn(join(folder, LEDGER))).toHaveLength(before);
    });
  });
});
