/**
 * Damage of the ledger's files, as disks and memory sticks do it: check finds it, or it is harmless: every
 * entry of the journal is as it was, and, as check has compared them, every other table.
 */
import { cpSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { Database } from '../../src/ledger/database.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { NOON } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';

const LEDGER = 'pottag-ledger';
const FILE = `${LEDGER}/ledger.sqlite`;

function garden(): Bench {
  const bench = makeBench();
  const rows = Array.from({ length: 40 }, (_, index) => `plant ${index},Amber Tollhouse é,${'x'.repeat(60)}`);
  bench.write('plants.csv', ['key,seed_parent,note', ...rows].join('\n'));
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

const journalOf = (bench: Bench) => JSON.stringify([...readJournal(bench.file(LEDGER))]);

it('when any byte of the database is changed, or it is cut short, check finds it or all is there', () => {
  const bench = garden();
  const database = Database.openOrCreate(bench.file(FILE));
  database.pragma('wal_checkpoint(TRUNCATE)');
  database.close();
  const [sound, journal] = [readFileSync(bench.file(FILE)), journalOf(bench)];
  let found = 0;
  const change = fc.record({ place: fc.nat(sound.length - 1), error: fc.integer({ min: 1, max: 255 }) });
  const cut = fc.record({ length: fc.nat(sound.length - 1) });
  fc.assert(
    fc.property(fc.oneof({ weight: 4, arbitrary: change }, cut), (damage) => {
      const changed = Buffer.from('length' in damage ? sound.subarray(0, damage.length) : sound);
      if ('place' in damage) changed[damage.place] = (changed[damage.place] ?? 0) ^ damage.error;
      for (const more of ['-wal', '-shm']) rmSync(bench.file(FILE + more), { force: true });
      writeFileSync(bench.file(FILE), changed);
      const run = bench.run(['check']);
      expect([0, 3], `${JSON.stringify(damage)}: ${run.stdout}${run.stderr}`).toContain(run.status);
      if (run.status === 3) found++;
      else expect(journalOf(bench)).toBe(journal);
    }),
    { seed: 20261125, numRuns: 40 },
  );
  // Bytes of unused space hold nothing that counts; most of the file does.
  expect(found).toBeGreaterThan(10);
  writeFileSync(bench.file(FILE), sound);
  bench.expect(0, ['check']);
});

it('when any byte of the write-ahead file is changed, check finds it, or remarks on the last write, or all is there', async () => {
  const bench = garden();
  const ledger = openLedger(bench.file(LEDGER), NOON);
  const [{ id } = { id: undefined }] = await ledger.plantsByKeys(['plant 7']);
  if (id === undefined) throw new Error('a plant');
  for (let write = 0; write < 6; write++) {
    const body = { id, issue: null, date: '2026-09-14', values: { brix: 12 + write }, photo: null };
    await ledger.write('wren', (writer) => writer.append({ kind: 'observed', body }));
  }
  // As a process leaves it that is killed before it closes the ledger.
  const killed = bench.file('killed');
  cpSync(bench.file(LEDGER), killed, { recursive: true });
  ledger.close();
  const entries = [...readJournal(bench.file(LEDGER))];
  const wal = readFileSync(join(killed, 'ledger.sqlite-wal'));
  let found = 0;
  fc.assert(
    fc.property(fc.nat(wal.length - 1), fc.integer({ min: 1, max: 255 }), (place, error) => {
      rmSync(bench.file(LEDGER), { recursive: true });
      cpSync(killed, bench.file(LEDGER), { recursive: true });
      const changed = Buffer.from(wal);
      changed[place] = (changed[place] ?? 0) ^ error;
      writeFileSync(bench.file(`${FILE}-wal`), changed);
      const run = bench.run(['check', '--json']);
      const where = `byte ${place} ^ ${error}: ${run.stdout}${run.stderr}`;
      expect([0, 3], where).toContain(run.status);
      if (run.status === 3) {
        found++;
        return;
      }
      const { remarks } = JSON.parse(run.stdout) as { remarks: object[] };
      const left = remarks.length > 0 ? entries.slice(0, -1) : entries;
      expect(journalOf(bench), where).toBe(JSON.stringify(left));
    }),
    { seed: 20261126, numRuns: 25 },
  );
  expect(found).toBeGreaterThan(5);
});

it('a kept photo or sheet that is cut short or changed is found, with exit code 1', () => {
  const bench = garden();
  bench.expect(0, ['tags', '--all', '--stock', 'a4-65-38x21', '--out', 'tags.pdf']);
  const { findings: none } = bench.json<{ findings: object[] }>(0, ['check']);
  expect(none).toEqual([]);
  const sheet = [...readJournal(bench.file(LEDGER))].find(({ kind }) => kind === 'sheet-printed');
  const { file } = JSON.parse(sheet?.body ?? '') as { file: string };
  const kept = bench.file(`${LEDGER}/sheets/${file}`);
  truncateSync(kept, 100);
  expect(bench.expect(1, ['check']).stdout).toMatch(new RegExp(`${file}.*changed`));
});

it.each([
  ['a body that is no JSON any more', '{"id":"PXSV9","issue"', '{"id":"PXSV9","issue{'],
  ['a definition in which a name is another', 'doubt.seq AND NOT EXISTS', 'doubz.seq AND NOT EXISTS'],
  ['a column that is JSON no more', '{"lot":"1"}', '{"lot":"1"]'],
])('%s: a command that only reads ends with 3, not with a fault of Pottag', (_what, whole, damaged) => {
  const bench = makeBench();
  bench.write('plants.csv', 'key,lot\na,1\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  bench.expect(0, ['scan', 'PXSV9', '--brix', '18.5']);
  const bytes = readFileSync(bench.file(FILE));
  let found = 0;
  for (let at = bytes.indexOf(whole); at !== -1; at = bytes.indexOf(whole, at + 1)) {
    bytes.write(damaged, at);
    found++;
  }
  expect(found).toBeGreaterThan(0);
  writeFileSync(bench.file(FILE), bytes);
  expect(bench.expect(3, ['show', 'PXSV9']).stderr).toMatch(/damaged/);
  bench.expect(3, ['check']);
});

it('check --rebuild saves what can be read, lists the rest, and leaves the damaged ledger as it was', () => {
  const bench = makeBench();
  bench.write('plants.csv', 'key,note\na,hello\nb,\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  bench.expect(0, ['scan', 'PXSV9', '--brix', '18.5']);
  bench.expect(0, ['scan', 'DZK67', '--brix', '17']);
  const whole = bench.expect(0, ['check', '--rebuild', 'whole']);
  expect(whole.stdout).toMatch(/Rebuilt.*5 entries[\s\S]*No entry of the old ledger was damaged/);
  expect(whole.stdout).not.toContain('damaged ledger');
  const bytes = readFileSync(bench.file(FILE));
  bytes[bytes.indexOf('"brix":18.5') + 7] = 0xff; // No text at all, at which the binding ends the process.
  writeFileSync(bench.file(FILE), bytes);
  bench.expect(3, ['check']);
  const { stdout } = bench.expect(1, ['check', '--rebuild', 'again']);
  expect(stdout).toMatch(/Rebuilt in again: 4 entries carried over; 2 plants, 0 tags, 1 observation/);
  expect(stdout).toMatch(/Lost.*entries 4[\s\S]*The damaged ledger is as it was/);
  expect(bench.json(0, ['check', '--ledger', 'again'])).toMatchObject({ ok: true, entries: 4 });
  expect(bench.json(1, ['check', '--rebuild', 'as-json'])).toMatchObject({
    carried_over: 4,
    lost: [{ first: 4, last: 4 }],
    left_out: [],
    unproven: [5],
  });
  expect(readFileSync(bench.file(FILE)).equals(bytes)).toBe(true);
});
