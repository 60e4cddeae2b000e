import { readFileSync, writeFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { Database } from '../../src/ledger/database.js';
import { makeBench } from '../support/pottag.js';

it('when any byte of the database is changed, check ends by the contract', () => {
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

it('check --rebuild saves what can be read, lists the rest, and leaves the damaged ledger as it was', () => {
  const bench = makeBench();
  bench.write('plants.csv', 'key,note\na,hello\nb,\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  bench.expect(0, ['scan', 'PXSV9', '--brix', '18.5']);
  bench.expect(0, ['scan', 'DZK67', '--brix', '17']);
  const whole = bench.expect(0, ['check', '--rebuild', 'whole']);
  expect(whole.stdout).toMatch(/Rebuilt.*5 entries[\s\S]*as it was/);
  const file = bench.file('pottag-ledger/ledger.sqlite');
  const bytes = readFileSync(file);
  bytes[bytes.indexOf('"brix":18.5') + 7] = 0xff; // No text at all, at which the binding ends the process.
  writeFileSync(file, bytes);
  bench.expect(3, ['check']);
  const { stdout } = bench.expect(1, ['check', '--rebuild', 'again']);
  expect(stdout).toMatch(/Rebuilt in again: 4 entries carried over; 2 plants, 0 tags, 1 observation/);
  expect(stdout).toMatch(/Lost.*entries 4/);
  expect(bench.json(0, ['check', '--ledger', 'again'])).toMatchObject({ ok: true, entries: 4 });
  expect(bench.json(1, ['check', '--rebuild', 'as-json'])).toMatchObject({
    carried_over: 4,
    lost: [{ first: 4, last: 4 }],
    left_out: [],
    unproven: [5],
  });
  expect(readFileSync(file).equals(bytes)).toBe(true);
});
