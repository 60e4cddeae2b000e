/** A ledger written by an earlier Pottag (see fixtures/README.md), opened by this one. */
import { spawn } from 'node:child_process';
import { cpSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import { SCHEMA_VERSION } from '../../src/ledger/schema.js';
import { databaseFile, openLedger } from '../../src/ledger/sqlite-ledger.js';
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

  it('killed in the middle of it, is as it was, and is migrated the next time', async () => {
    const folder = oldLedger();
    // As `migrate` does, up to just before its commit; with next to no cache, so that pages are written before.
    const script = `
      import { Database } from ${JSON.stringify(join(import.meta.dirname, '../../src/ledger/database.ts'))};
      import { rebuild } from ${JSON.stringify(join(import.meta.dirname, '../../src/ledger/migrate.ts'))};
      const database = Database.openOrCreate(${JSON.stringify(databaseFile(folder))});
      database.execute('PRAGMA cache_size = 1');
      database.execute('BEGIN IMMEDIATE');
      rebuild(database);
      database.execute('PRAGMA user_version = 2');
      console.log('in the middle');
      setInterval(() => {}, 1000);`;
    const child = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', script]);
    await new Promise<void>((resolve, reject) => {
      child.stdout.once('data', () => resolve());
      child.once('exit', () => reject(new Error('it ended before it was in the middle')));
    });
    const gone = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await gone;
    expect(query(databaseFile(folder), VERSION)).toEqual([{ version: 1 }]);
    expect(query<{ n: number }>(databaseFile(folder), 'SELECT count(*) AS n FROM plant')).toEqual([{ n: 3 }]);
    const ledger = openLedger(folder, NOON);
    expect(await ledger.plantCount()).toBe(3);
    ledger.close();
    expect(checkLedger(folder, () => {}).findings).toEqual([]);
  });
});
