/** A ledger written by an earlier Pottag (see fixtures/README.md), opened by this one. */
import { cpSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import { SCHEMA_VERSION } from '../../src/ledger/schema.js';
import { databaseFile, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { run } from '../faults/rounds.js';
import { freshFolder, NOON } from '../support/ledger.js';
import { makeBench } from '../support/pottag.js';

const OLD = join(import.meta.dirname, '../fixtures/ledger-schema-1');

function oldLedger(): string {
  const folder = join(freshFolder(), 'ledger');
  cpSync(OLD, folder, { recursive: true });
  return folder;
}

function query<T>(file: string, sql: string): T[] {
  const database = Database.openOrCreate(file);
  try {
    return database.all<T>(sql);
  } finally {
    database.close();
  }
}

const JOURNAL = 'SELECT seq, hex(id) AS id, at, by, kind, body, hex(hash) AS hash FROM journal ORDER BY seq';
const VERSION = 'SELECT user_version AS version FROM pragma_user_version';

describe('a ledger of schema 1', () => {
  it('opens, tells what it told, keeps a copy of itself, and passes check', async () => {
    const folder = oldLedger();
    const journal = query(databaseFile(folder), JOURNAL);
    const ledger = openLedger(folder, NOON);
    const plants = await ledger.plantsByKeys(['a', 'b', 'c']);
    const told = Object.fromEntries(plants.map(({ key, station, ended }) => [key, [station, ended]]));
    expect(told).toEqual({
      a: ['bench 1 / row 1 / 1', null],
      b: ['bench 1 / row 1 / 9', null],
      c: ['shed', '2026-09-12'],
    });
    const [a] = await ledger.plantsByKeys(['a']);
    if (a === undefined) throw new Error('the plant a');
    expect(await ledger.observations(a.id)).toMatchObject([
      { date: '2026-08-30', values: { fruit: 'set' }, doubtful: false, recordedAs: a.id },
      { date: '2026-09-14', values: { brix: 18.5 } },
      { date: '2026-09-14', values: { station: 'bench 1 / row 1 / 1' } },
    ]);
    expect(await ledger.tags(a.id)).toMatchObject([{ status: 'void', voidedBecause: 'lost' }]);
    ledger.close();
    expect(query(databaseFile(folder), JOURNAL)).toEqual(journal);
    expect(query(databaseFile(folder), VERSION)).toEqual([{ version: SCHEMA_VERSION }]);
    expect(checkLedger(folder, () => {})).toMatchObject({ entries: 21, plants: 3, findings: [] });
    const copy = join(folder, 'before-format-2.sqlite');
    expect(query(copy, JOURNAL)).toEqual(journal);
    expect(query(copy, VERSION)).toEqual([{ version: 1 }]);
  });

  it('is migrated by a command that only reads, and by two at once', async () => {
    const bench = makeBench();
    cpSync(OLD, bench.file('pottag-ledger'), { recursive: true });
    const exits = ['show', 'scan'].map(
      (command) => new Promise((resolve) => bench.start([command, 'PXSV9', '--quiet']).on('exit', resolve)),
    );
    expect(await Promise.all(exits)).toEqual([0, 0]);
    expect(bench.json<{ observations: unknown[] }>(0, ['show', 'PXSV9']).observations).toHaveLength(3);
    bench.expect(0, ['check']);
    const files = readdirSync(bench.file('pottag-ledger')).filter((name) => name.startsWith('before'));
    expect(files).toEqual(['before-format-2.sqlite']);
    const copy = bench.file('pottag-ledger/before-format-2.sqlite');
    expect(query(copy, VERSION)).toEqual([{ version: 1 }]);
  });

  it('is not migrated in silence if that takes long', () => {
    const bench = makeBench();
    cpSync(OLD, bench.file('small'), { recursive: true });
    cpSync(OLD, bench.file('large'), { recursive: true });
    const database = Database.openOrCreate(databaseFile(bench.file('large')));
    database.run(`INSERT INTO journal (id, at, by, kind, body, hash)
      SELECT randomblob(16), '', '', 'of no meaning', '{}', zeroblob(32) FROM generate_series(1, 200000)`);
    database.close();
    expect(bench.expect(0, ['show', 'PXSV9', '--ledger', 'small']).stderr).not.toContain('older format');
    expect(bench.expect(0, ['show', 'PXSV9', '--ledger', 'large']).stderr).toMatch(
      /^The ledger in large is of an older format.* 200,021 entries/,
    );
    expect(bench.expect(0, ['show', 'PXSV9', '--ledger', 'large']).stderr).not.toContain('older format');
  });

  it('killed at any step of it, keeps its journal and is migrated the next time', async () => {
    const journal = query(join(OLD, 'ledger.sqlite'), JOURNAL);
    const countTo = join(freshFolder(), 'steps');
    const show = { args: ['show', 'PXSV9', '--ledger', '.'] };
    await run(oldLedger(), show, undefined, { env: { STEPS_COUNT_TO: countTo } });
    const steps = Number(readFileSync(countTo, 'utf8'));
    const versions = new Set<number>();
    for (let step = 1; step <= steps; step += Math.ceil(steps / 12)) {
      const folder = oldLedger();
      expect((await run(folder, show, { beforeStep: step })).signal).toBe('SIGKILL');
      const [{ version } = { version: 0 }] = query<{ version: number }>(databaseFile(folder), VERSION);
      versions.add(version);
      expect([1, SCHEMA_VERSION]).toContain(version);
      expect(query(databaseFile(folder), JOURNAL)).toEqual(journal);
      expect((await run(folder, show)).status).toBe(0);
      const report = checkLedger(folder, () => {});
      expect(report).toMatchObject({ entries: 21, plants: 3, findings: [] });
      // A copy that was not finished is no copy, and check tells of it.
      const copies = readdirSync(folder).filter((name) => name.startsWith('before-format'));
      expect(copies.filter((name) => name.endsWith('.sqlite'))).toEqual(['before-format-2.sqlite']);
      const left = copies.filter((name) => !name.endsWith('.sqlite'));
      expect(report.remarks.map(({ where }) => where)).toEqual(expect.arrayContaining(left));
      expect(query(join(folder, 'before-format-2.sqlite'), JOURNAL)).toEqual(journal);
    }
    expect(versions).toContain(1);
  });
});

it('a ledger of a newer schema is refused by every command and stays as it is, byte for byte', () => {
  const bench = makeBench();
  bench.write('plants.csv', 'key\na\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  const file = bench.file('pottag-ledger/ledger.sqlite');
  query(file, `PRAGMA user_version = ${SCHEMA_VERSION + 1}`);
  query(file, 'PRAGMA wal_checkpoint(TRUNCATE)');
  const before = readFileSync(file);
  const writing = [
    ['enrol', 'plants.csv'],
    ['scan', 'PXSV9', '--brix', '18'],
    ['check'],
    ['backup', 'x.tar.gz'],
  ];
  for (const args of writing) expect(bench.expect(3, args).stderr).toMatch(/newer Pottag/);
  expect(readFileSync(file).equals(before)).toBe(true);
});
