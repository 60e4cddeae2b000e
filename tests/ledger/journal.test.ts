import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Database } from '../../src/ledger/database.js';
import { derive } from '../../src/ledger/derive.js';
import {
  entryHash,
  insertEntries,
  type JournalEntry,
  NO_HASH,
  newEntryId,
} from '../../src/ledger/journal.js';
import { DERIVED_SCHEMA, JOURNAL_SCHEMA } from '../../src/ledger/schema.js';

function emptyTables(): Database {
  const database = Database.openOrCreate(':memory:');
  database.execute(JOURNAL_SCHEMA + DERIVED_SCHEMA);
  return database;
}

/** A journal of these entries, its hashes chained. */
function journalOf(entries: readonly Pick<JournalEntry, 'at' | 'by' | 'kind' | 'body'>[]): JournalEntry[] {
  let before: Uint8Array = NO_HASH;
  return entries.map((entry, index) => {
    const fields = { seq: index + 1, id: newEntryId(), ...entry };
    before = entryHash(before, fields);
    return { ...fields, hash: before };
  });
}

const AT = '2026-09-14T12:00:00.000Z';
const often = <T>(usual: T, other: T) =>
  fc.oneof({ weight: 40, arbitrary: fc.constant(usual) }, { weight: 1, arbitrary: fc.constant(other) });
const entry = fc.record({
  at: often(AT, '2026-09-14T12:00:00.001Z'),
  by: often('wren', 'Zoë "the finch"'),
  kind: often('plant-enrolled', 'observed'),
  body: fc.tuple(fc.jsonValue(), fc.nat(1)).map(([value, indent]) => JSON.stringify(value, null, indent)),
});

test('entries written together and one by one stand in the journal alike, byte for byte', () => {
  let longest = 0;
  fc.assert(
    fc.property(fc.array(entry, { minLength: 1, maxLength: 60, size: 'max' }), (entries) => {
      const journal = journalOf(entries);
      const [together, singly] = [emptyTables(), emptyTables()];
      insertEntries(together, journal);
      for (const each of journal) insertEntries(singly, [each]);
      const sql = 'SELECT seq, hex(id), at, by, kind, body, hex(hash) FROM journal ORDER BY seq';
      const rows = together.all<Pick<JournalEntry, 'seq' | 'body'>>(sql);
      expect(rows).toEqual(singly.all(sql));
      expect(rows.map(({ body }) => body)).toEqual(entries.map(({ body }) => body));
      longest = Math.max(longest, entries.length);
      together.close();
      singly.close();
    }),
    { seed: 20261128, numRuns: 200 },
  );
  expect(longest).toBeGreaterThan(40);
});

test.each([
  ['said that it is dead', '{"alive":"no"}', 'no', null],
  ['said so in escapes', String.raw`{"\u0061\u006Cive":"no"}`, 'no', null],
  ['said where it stands', '{"station":"bench 2"}', null, 'bench 2'],
  ['said something else', '{"note":"alive and well at its station"}', null, null],
])(
  'what is derived with the bodies at hand is what is derived without: an entry that %s',
  (_, values, dead, station) => {
    const plant = `{"number":1,"id":"00001","key":"a","kind":"seedling","extra":{}}`;
    const seen = `{"id":"00001","issue":null,"date":"2026-09-14","values":${values},"photo":null}`;
    const journal = journalOf([
      { at: AT, by: 'wren', kind: 'plant-enrolled', body: plant },
      { at: AT, by: 'wren', kind: 'observed', body: seen },
    ]);
    for (const given of [journal, journal.map(({ seq, kind }) => ({ seq, kind }))]) {
      const database = emptyTables();
      insertEntries(database, journal);
      derive(database, given);
      const ended = dead === null ? null : '2026-09-14';
      expect(database.all('SELECT ended, station FROM plant')).toEqual([{ ended, station }]);
      database.close();
    }
  },
);
