import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { checkLedger } from '../../src/ledger/check.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { carryOut, type EnrolPlan, planEnrolment } from '../../src/plants/enrol.js';
import { readPlantRows } from '../../src/plants/rows.js';
import { csvWithIds } from '../../src/plants/write-back.js';
import { freshLedger, ledgerWith, seedling } from '../support/ledger.js';

function read(csv: string) {
  const options = { columns: new Map<string, string>(), today: '2026-11-25', file: 'plants.csv' };
  return readPlantRows(Buffer.from(csv), options);
}

const plan = (ledger: Ledger, csv: string) => planEnrolment(ledger, ledger.idLength, read(csv));

function enrol(ledger: Ledger, csv: string, amend = false): Promise<EnrolPlan> {
  return ledger.write('wren', async (writer) => {
    const made = await planEnrolment(writer, ledger.idLength, read(csv));
    await carryOut(writer, made, amend, () => {});
    return made;
  });
}

const idsByKey = ({ plants }: EnrolPlan) => new Map(plants.map(({ key, id }) => [key, id]));

interface Row {
  readonly key: string;
  readonly station: string;
  readonly note: string;
  readonly withId: boolean;
}

/** One person's work on the table between two enrolments. */
type Edit =
  | { readonly do: 'add'; readonly at: number; readonly station: string }
  | { readonly do: 'remove' | 'move'; readonly at: number; readonly to: number }
  | { readonly do: 'edit'; readonly at: number; readonly station: string; readonly note: string }
  | { readonly do: 'rename'; readonly at: number }
  | { readonly do: 'enrol'; readonly amend: boolean; readonly withIds: boolean };

const word = fc.constantFrom('', 'bench 1', 'bench 2', 'frost', 'a "quoted" word', 'x, y', '♀ é');
const edit: fc.Arbitrary<Edit> = fc.oneof(
  fc.record({ do: fc.constant('add' as const), at: fc.nat(), station: word }),
  fc.record({ do: fc.constantFrom('remove' as const, 'move' as const), at: fc.nat(), to: fc.nat() }),
  fc.record({ do: fc.constant('edit' as const), at: fc.nat(), station: word, note: word }),
  fc.record({ do: fc.constant('rename' as const), at: fc.nat() }),
  fc.record({ do: fc.constant('enrol' as const), amend: fc.boolean(), withIds: fc.boolean() }),
);

const cell = (text: string) => `"${text.replaceAll('"', '""')}"`;

describe('IDs', () => {
  it('never change, whatever is done to the table between enrolments', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(edit, { minLength: 5, maxLength: 25 }), async (edits) => {
        const ledger = await freshLedger();
        let table: Row[] = [];
        let made = 0;
        // What must hold, kept apart from the ledger: each row object's ID from its first enrolment on.
        const idOfKey = new Map<string, PlantId>();
        for (const one of [...edits, { do: 'enrol', amend: true, withIds: true } as const]) {
          const at = table.length === 0 ? 0 : ('at' in one ? one.at : 0) % table.length;
          const row = table[at];
          if (one.do === 'add') {
            table.splice(at, 0, { key: `plant ${made++}`, station: one.station, note: '', withId: false });
          } else if (row !== undefined && one.do === 'remove') table.splice(at, 1);
          else if (row !== undefined && one.do === 'move') {
            table.splice(at, 1);
            table.splice(one.to % (table.length + 1), 0, row);
          } else if (row !== undefined && one.do === 'edit') {
            table[at] = { ...row, station: one.station, note: one.note };
          } else if (row !== undefined && one.do === 'rename' && row.withId) {
            const key = `plant ${made++}`;
            const id = idOfKey.get(row.key);
            if (id === undefined) throw new Error('a row with an ID was enrolled');
            idOfKey.set(key, id);
            table[at] = { ...row, key };
          } else if (one.do === 'enrol') {
            // Once a file has its IDs it keeps them: a key renamed in it is known by its ID alone.
            const withIds = one.withIds || table.some(({ withId }) => withId);
            const idCell = (key: string) => (withIds ? `${idOfKey.get(key) ?? ''},` : '');
            const lines = table.map(
              ({ key, station, note }) => `${idCell(key)}${cell(key)},${cell(station)},${cell(note)}`,
            );
            const csv = `${withIds ? 'id,' : ''}key,station,note\n${lines.join('\n')}\n`;
            const given = await enrol(ledger, csv, one.amend);
            expect(given.problems).toEqual([]);
            expect(given.plants.map(({ key }) => key)).toEqual(table.map(({ key }) => key));
            for (const { key, id } of given.plants) {
              if (idOfKey.has(key)) expect(id).toBe(idOfKey.get(key));
              else expect([...idOfKey.values()]).not.toContain(id);
              idOfKey.set(key, id);
            }
            table = table.map((row) => ({ ...row, withId: withIds || row.withId }));
            if (one.amend) {
              for (const { key, station } of table) {
                const [plant] = await ledger.plantsByKeys([key]);
                expect(plant?.id).toBe(idOfKey.get(key));
                expect(plant?.station ?? '').toBe(station);
              }
            }
          }
        }
        const all = await ledger.plants({});
        expect(new Set(all.map(({ id }) => id)).size).toBe(new Set(idOfKey.values()).size);
        expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
        ledger.close();
      }),
      { seed: 20261125, numRuns: 40 },
    );
  });

  it('are the same for the same file in another ledger', async () => {
    const csv = 'key\nnorth 1\nnorth 2\nnorth 3\n';
    const [first, second] = [await enrol(await freshLedger(), csv), await enrol(await freshLedger(), csv)];
    expect(idsByKey(second)).toEqual(idsByKey(first));
    expect(new Set(idsByKey(first).values()).size).toBe(3);
  });

  it('when a plant has died and its row is gone, its ID is not given again', async () => {
    const ledger = await freshLedger();
    const { plants } = await enrol(ledger, 'key\na\nb\n');
    const dead = plants[1]?.id;
    if (dead === undefined) throw new Error('two plants');
    const values = { alive: 'no' };
    const body = { id: dead, issue: null, date: '2026-09-14', values, photo: null };
    await ledger.write('wren', (writer) => writer.append({ kind: 'observed', body }));
    const later = await enrol(ledger, 'key\na\nc\nd\n');
    expect(later.toEnrol.map(({ id }) => id)).not.toContain(dead);
    expect((await ledger.plant(dead))?.key).toBe('b');
    expect(idsByKey(await plan(ledger, 'key\nb\n')).get('b')).toBe(dead);
  });

  for (const idLength of [6, 7] as const) {
    it(`have ${idLength} characters in a ledger made so`, async () => {
      const { plants } = await enrol(await freshLedger(idLength), 'key\na\nb\n');
      for (const { id } of plants) expect(id).toHaveLength(idLength);
    });
  }
});

describe('a file with a column of IDs', () => {
  it('as written back, enrols again as known, whatever its shape', async () => {
    const ledger = await freshLedger();
    const csv = '\ufeffTag;Mother;Notes\r\n"a ""1""";Amber Tollhouse;"two\r\nlines"\r\n\r\nb;;\r\n';
    const rows = read(csv);
    const first = await enrol(ledger, csv);
    const written = csvWithIds(rows.source, new Map(first.plants.map(({ line, id }) => [line, id])));
    const again = await plan(ledger, written);
    expect(again).toMatchObject({ toEnrol: [], known: 2, changes: [], problems: [] });
    expect(idsByKey(again)).toEqual(idsByKey(first));
  });

  it('when its key differs from a known one in capital letters alone, is asked about', async () => {
    const ledger = await freshLedger();
    const ids = (await enrol(ledger, 'key\nNorth Bench 1\nA3-07\nsouth\n')).plants.map(({ id }) => id);
    const found = await plan(ledger, 'key\nnorth bench 1\na3-07\nSOUTH\nnew\nsouth\n');
    expect(found.problems.map(({ line, problem }) => `${line} ${problem}`)).toEqual([
      expect.stringMatching(`2 ${ids[0]} has the key "North Bench 1".*capital letters`),
      expect.stringMatching(`3 ${ids[1]} has the key "A3-07"`),
      expect.stringMatching(`4 ${ids[2]} has the key "south"`),
      expect.stringMatching(/6 "south" and the key in line 4, "SOUTH", differ in capital letters alone/),
    ]);
    expect(found.toEnrol).toHaveLength(1);
  });

  it('when a key was renamed, is known by its ID', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b')]);
    const renamed = await enrol(ledger, `id,key\n${ids[0]},new name\n${ids[1]?.toLowerCase()},b\n`, true);
    expect(renamed).toMatchObject({ toEnrol: [], known: 2, problems: [] });
    expect(renamed.changes).toMatchObject([{ line: 2, id: ids[0], field: 'key', was: 'a', is: 'new name' }]);
    expect((await ledger.plantsByKeys(['new name']))[0]?.id).toBe(ids[0]);
    expect(await ledger.plantsByKeys(['a'])).toEqual([]);
  });

  const wrong: readonly (readonly [
    what: string,
    csv: (ids: readonly string[]) => string,
    lines: number[],
  ])[] = [
    ['is of no plant', () => 'id,key\nK7FY5,a\n', [2]],
    ['is no ID', () => 'id,key\nhello,a\n', [2]],
    ['is on a new row', () => 'id,key\nK7FY5,new\n', [2]],
    ['is swapped with another', ([a, b]) => `id,key\n${b},a\n${a},b\n`, [2, 3]],
    ['stands twice', ([a]) => `id,key\n${a},a\n${a},new\n`, [3]],
  ];
  for (const [what, csv, lines] of wrong) {
    it(`when an ID ${what}, its line is named`, async () => {
      const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b')]);
      const found = await plan(ledger, csv(ids));
      expect(found.problems.map(({ line, column }) => [line, column])).toEqual(
        lines.map((line) => [line, 'id']),
      );
      expect(found.toEnrol).toEqual([]);
    });
  }

  // Both rows become the one plant; --amend gives it both keys in turn, and a new plant gets no ID.
  it('when a renamed plant and a row with its old key are both there, is asked about', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const found = await plan(ledger, `id,key\n${ids[0]},renamed\n,a\n`);
    expect(found.problems.length).toBeGreaterThan(0);
  });

  it('when an ID stands twice in two spellings, is asked about', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const id = ids[0] ?? '';
    const found = await plan(ledger, `id,key\n${id},a\n${id.slice(0, 2)}-${id.slice(2)},b\n`);
    expect(found.problems.length).toBeGreaterThan(0);
  });
});

describe('changes', () => {
  it('are told field by field, from what to what, and written only when asked', async () => {
    const ledger = await freshLedger();
    await enrol(ledger, 'key,station,note,lot\na,bench 1,first,L1\nb,bench 2,,\n');
    const changed = 'key,station,note,lot\na,bench 9,first,L2\nb,bench 2,new,\n';
    const told = await enrol(ledger, changed, false);
    expect(told.changes.map(({ line, field, was, is }) => [line, field, was, is])).toEqual([
      [2, 'station', 'bench 1', 'bench 9'],
      [2, 'lot', 'L1', 'L2'],
      [3, 'note', null, 'new'],
    ]);
    expect((await ledger.plantsByKeys(['a']))[0]).toMatchObject({ station: 'bench 1', extra: { lot: 'L1' } });
    await enrol(ledger, changed, true);
    expect((await ledger.plantsByKeys(['a']))[0]).toMatchObject({ station: 'bench 9', extra: { lot: 'L2' } });
    expect((await plan(ledger, changed)).changes).toEqual([]);
  });

  it('a column that the file has not says nothing; an empty cell does', async () => {
    const ledger = await freshLedger();
    await enrol(ledger, 'key,station,seed_parent,lot\na,bench 1,Amber Tollhouse,L1\n');
    expect((await plan(ledger, 'key\na\n')).changes).toEqual([]);
    const emptied = await plan(ledger, 'key,station,cross,lot\na,,,\n');
    expect(emptied.changes.map(({ field, is }) => [field, is])).toEqual([
      ['seed_parent', null],
      ['station', null],
      ['lot', null],
    ]);
  });

  it('a plan writes nothing by itself', async () => {
    const { ledger } = await ledgerWith([seedling('a')]);
    await plan(ledger, 'key\na\nb\n');
    expect(await ledger.plantCount()).toBe(1);
  });
});

it('a ledger of ID length 5 takes 32,767 plants and not one more', async () => {
  const ledger = await freshLedger();
  const keys = Array.from({ length: 32_767 }, (_, index) => index + 1);
  const full = await enrol(ledger, `key\n${keys.join('\n')}\n`);
  expect(new Set(full.plants.map(({ id }) => id)).size).toBe(32_767);
  expect(full.plants.map(({ id }) => id)).not.toContain('00000');
  expect((await plan(ledger, `key\n${keys.join('\n')}\n`)).known).toBe(32_767);
  await expect(plan(ledger, 'key\none more\n')).rejects.toMatchObject({ code: 'ledger-full' });
  await expect(enrol(ledger, 'key\none more\n')).rejects.toThrow(/32,767/);
  expect(await ledger.plantCount()).toBe(32_767);
});
