/**
 * Design section 10: durable appends, one to a transaction, beside bare SQLite's own inserts of the same rows into
 * the same tables, at the same settings. Bare SQLite too has to find the plant's number by the ID on its tag.
 */
import { randomBytes } from 'node:crypto';
import { rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type Connection from 'libsql';
import { idOfNumber } from '../../src/ids/allocation.js';
import { DERIVED_SCHEMA, JOURNAL_SCHEMA } from '../../src/ledger/schema.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { type BenchRow, median } from './measure.js';

const SQLite = createRequire(import.meta.url)('libsql') as typeof Connection;
/** Short rounds by turns, so that what else the machine does falls on both; each meets a checkpoint or so. */
const APPENDS = 250;
const ROUNDS = 40;

export async function benchAppends(folder: string): Promise<BenchRow[]> {
  const home = join(folder, 'appends');
  rmSync(home, { recursive: true, force: true });
  const ledger = await createLedger(home, 5, 'bench', () => new Date());
  const id = idOfNumber(1, 5);
  const plant = { key: 'N1', kind: 'seedling', seedParent: null, pollenParent: null, sown: null } as const;
  const unknown = { origin: null, station: null, type: null, note: null, extra: {} };
  await ledger.write('bench', (writer) =>
    writer.append({ kind: 'plant-enrolled', body: { number: 1, id, ...plant, ...unknown } }),
  );
  const values = { brix: 18.5, fruit: 'ripe' };
  const body = { id, issue: 1, date: '2026-08-01', values, photo: null };

  const bare = new SQLite(join(home, 'bare.sqlite'));
  bare.pragma('journal_mode = WAL');
  bare.pragma('synchronous = FULL');
  bare.exec(JOURNAL_SCHEMA);
  bare.exec(DERIVED_SCHEMA);
  const insertEntry = bare.prepare(
    'INSERT INTO journal (id, at, by, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)',
  );
  const insertObservation = bare.prepare(
    'INSERT INTO observation (seq, plant, date) SELECT last_insert_rowid(), number, ? FROM plant WHERE id = ?',
  );
  bare
    .prepare(
      "INSERT INTO plant (number, id, key, kind, extra, placed) VALUES (1, ?, 'N1', 'seedling', '{}', 1)",
    )
    .run(id);
  const hash = randomBytes(32);
  const insertRows = () => {
    bare.exec('BEGIN IMMEDIATE');
    const id = randomBytes(16);
    insertEntry.run(id, new Date().toISOString(), 'bench', 'observed', JSON.stringify(body), hash);
    insertObservation.run(body.date, body.id);
    bare.exec('COMMIT');
  };

  const ours: number[] = [];
  const theirs: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    let started = performance.now();
    for (let append = 0; append < APPENDS; append++) {
      await ledger.write('bench', (writer) => writer.append({ kind: 'observed', body }));
    }
    ours.push(performance.now() - started);
    started = performance.now();
    for (let append = 0; append < APPENDS; append++) {
      insertRows();
    }
    theirs.push(performance.now() - started);
  }
  ledger.close();
  bare.close();
  const ourRate = (1000 * APPENDS) / median(ours);
  const theirRate = (1000 * APPENDS) / median(theirs);
  const ratio = ourRate / theirRate;
  return [
    {
      what: 'durable appends, one to a transaction',
      measured: `${ratio.toFixed(2)} × the same rows into bare SQLite (${ourRate.toFixed(0)} : ${theirRate.toFixed(0)} a second)`,
      bar: '≥ 0.8 ×',
      holds: ratio >= 0.8,
    },
  ];
}
