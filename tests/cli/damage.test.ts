import { readFileSync, writeFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { Database } from '../../src/ledger/database.js';
import { makeBench } from '../support/pottag.js';

it('when any byte of the database is changed, check and show end by the contract', () => {
  const bench = makeBench();
  const rows = Array.from({ length: 40 }, (_, index) => `plant ${index},Amber Tollhouse é,${'x'.repeat(60)}`);
  bench.write('plants.csv', ['key,seed_parent,note', ...rows].join('\n'));
  bench.expect(0, ['enrol', 'plants.csv']);
  const file = bench.file('pottag-ledger/ledger.sqlite');
  const database = Database.openOrCreate(file);
  database.pragma('wal_checkpoint(TRUNCATE)');
  database.close();
  const sound = readFileSync(file);
  let found = 0;
  fc.assert(
    fc.property(fc.nat(sound.length - 1), fc.integer({ min: 1, max: 255 }), (place, error) => {
      const changed = Buffer.from(sound);
      changed[place] = (changed[place] ?? 0) ^ error;
      writeFileSync(file, changed);
      const run = bench.run(['check']);
      expect([0, 3], `byte ${place} ^ ${error}: ${run.stdout}${run.stderr}`).toContain(run.status);
      if (run.status === 3) found++;
    }),
    { seed: 20261125, numRuns: 40 },
  );
  // Bytes of unused space hold nothing that counts; most of the file does.
  expect(found).toBeGreaterThan(10);
  writeFileSync(file, sound);
  bench.expect(0, ['check']);
});
