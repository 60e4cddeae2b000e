import { chmodSync, existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { LedgerError } from '../../src/errors.js';
import { Database } from '../../src/ledger/database.js';
import type { NewEntry } from '../../src/ledger/entries.js';
import { createLedger, databaseFile, findLedger, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, freshFolder, freshLedger, ledgerWith, NOON, seedling } from '../support/ledger.js';

const issue = (id: string, number: number): NewEntry => ({
  kind: 'tag-issued',
  body: { id: id as never, issue: number, stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: number },
});

const seen = (id: string, date: string, values: Record<string, string | number>): NewEntry => ({
  kind: 'observed',
  body: { id: id as never, issue: null, date, values, photo: null },
});

/** Reads or changes the ledger's tables behind its back. */
function behindItsBack<T>(folder: string, work: (database: Database) => T): T {
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    return work(database);
  } finally {
    database.close();
  }
}

describe('plants, tags and observations', () => {
  it('come back as they were written', async () => {
    const fields = seedling('A3-07', {
      seedParent: 'Tollhouse Amber',
      pollenParent: 'Moth Captain',
      sown: '2023-02',
      station: 'bench 2 / row 3 / 7',
      note: 'two\nlines “é”',
      extra: { 'seed lot': 'L1', __proto__: 'odd heading' },
    });
    const { ledger, ids } = await ledgerWith([fields, seedling('A3-08', { kind: 'cutting' })]);
    const [first, second] = ids;
    if (first === undefined || second === undefined) throw new Error('two plants');
    expect(await ledger.plant(first)).toEqual({ ...fields, id: first, number: 1, ended: null });
    expect((await ledger.plantsByKeys(['A3-08', 'A3-99'])).map(({ id }) => id)).toEqual([second]);
    expect((await ledger.plantsByIds(ids)).length).toBe(2);
    expect(await ledger.plantCount()).toBe(2);
    expect((await ledger.plantsLike(`${first.slice(0, 2)}???`, 5)).map(({ id }) => id)).toContain(first);

    await ledger.write('finch', async (writer) => {
      await writer.append(seen(first, '2026-09-14', { brix: 18.5 }));
      await writer.append(seen(first, '2026-08-30', { fruit: 'set' }));
    });
    const observations = await ledger.observations(first);
    expect(observations.map(({ date, values, by }) => [date, values, by])).toEqual([
      ['2026-08-30', { fruit: 'set' }, 'finch'],
      ['2026-09-14', { brix: 18.5 }, 'finch'],
    ]);
    expect(observations[0]?.recordedAt).toBe('2026-09-14T12:00:00.000Z');
  });

  it('when a tag is issued anew, the one before is superseded; when it is voided, it is void', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const [id] = ids;
    if (id === undefined) throw new Error('one plant');
    await ledger.write('wren', async (writer) => {
      for (const number of [1, 2, 3]) await writer.append(issue(id, number));
      await writer.append({ kind: 'tag-voided', body: { id, issue: 3, why: 'lost' } });
    });
    const statuses = (await ledger.tags(id)).map((tag) => [tag.issue, tag.status]);
    expect(statuses).toEqual([
      [1, 'superseded'],
      [2, 'superseded'],
      [3, 'void'],
    ]);
    expect(await ledger.lastTags([id])).toEqual(new Map([[id, { issue: 3, status: 'void' }]]));
    const textsIssued = async (after: number, upTo: number) => {
      const texts: string[] = [];
      for await (const some of ledger.tagTexts(after, upTo)) texts.push(...some);
      return texts.sort();
    };
    // The first entry makes the ledger, the next enrols the plant, three issue its tags, the last voids one.
    expect(await ledger.lastEntry()).toBe(6);
    expect(await textsIssued(0, 6)).toEqual([`${id}.1`, `${id}.2`, `${id}.3`]);
    expect(await textsIssued(0, 4)).toEqual([`${id}.1`, `${id}.2`]);
    expect(await textsIssued(3, 6)).toEqual([`${id}.2`, `${id}.3`]);
    expect(await textsIssued(5, 6)).toEqual([]);
    expect((await ledger.plants({ untagged: true })).map((plant) => plant.id)).toEqual([id]);
  });

  it('when plants are selected, every condition holds and the order is that of enrolment', async () => {
    const { ledger, ids } = await ledgerWith([
      seedling('a', { seedParent: 'S', pollenParent: 'P', station: 'bench 1 / 1' }),
      seedling('b', { seedParent: 'S', pollenParent: null, station: 'bench 10 / 1' }),
      seedling('c', { kind: 'parent', station: 'bench 1 / 2' }),
      seedling('d', { seedParent: 'S', pollenParent: 'P', station: 'Bänk 01' }),
    ]);
    const keys = async (selection: Parameters<typeof ledger.plants>[0]) =>
      (await ledger.plants(selection)).map(({ key }) => key).join('');
    expect(await keys({})).toBe('abcd');
    expect(await keys({ seedParent: 'S', pollenParent: 'P' })).toBe('ad');
    expect(await keys({ seedParent: 'S', pollenParent: null })).toBe('b');
    expect(await keys({ kind: 'parent' })).toBe('c');
    expect(await keys({ stationPrefix: 'bench 1 /' })).toBe('ac');
    expect(await keys({ stationPrefix: 'Bän' })).toBe('d');
    expect(await keys({ stationNumbers: [[]] })).toBe(await keys({ stationPrefix: '' }));
    expect(await keys({ stationNumbers: [] })).toBe('');
    expect(await keys({ stationNumbers: [[1, 2], [10]] })).toBe('bc');
    expect(await keys({ stationNumbers: [[0]] })).toBe('');
    expect(await keys({ stationNumbers: [[1]] })).toBe('abcd');
    expect(await ledger.count({ stationPrefix: 'bench 1 /' })).toBe(2);
    await ledger.write('wren', (writer) => writer.append(seen(ids[0] ?? '', '2026-09-14', { alive: 'no' })));
    expect(await keys({ alive: true })).toBe('bcd');
    expect((await ledger.plantsByKeys(['a']))[0]?.ended).toBe('2026-09-14');
  });

  it('names each station once, of dead plants too', async () => {
    const places = [{ station: 'shelf' }, { station: 'bench 1 / 2' }, { station: 'shelf' }, {}];
    const { ledger, ids } = await ledgerWith(places.map((place, index) => seedling(`${index}`, place)));
    await ledger.write('wren', (writer) => writer.append(seen(ids[1] ?? '', '2026-09-14', { alive: 'no' })));
    expect((await ledger.stations()).sort()).toEqual(['bench 1 / 2', 'shelf']);
  });
});

describe('the journal', () => {
  it('refuses to be updated or to lose an entry', async () => {
    const { ledger } = await ledgerWith([seedling('a')]);
    behindItsBack(ledger.folder, (database) => {
      expect(() => database.run("UPDATE journal SET by = 'x'")).toThrow(/append-only/);
      expect(() => database.run('DELETE FROM journal')).toThrow(/append-only/);
      expect(database.get('SELECT count(*) AS n FROM journal')).toEqual({ n: 2 });
    });
  });

  it('when an entry is not of its shape, refuses it and the whole transaction', async () => {
    const { ledger } = await ledgerWith([seedling('a')]);
    const wrong = ledger.write('wren', async (writer) => {
      await enrolInto(writer, 5, [seedling('b')]);
      await writer.append({ kind: 'plant-enrolled', body: { number: 3, id: 'IIIII', key: '' } as never });
    });
    await expect(wrong).rejects.toThrow();
    expect(await ledger.plantCount()).toBe(1);
  });

  it('is written with the settings that make a commit durable', async () => {
    const ledger = await freshLedger();
    behindItsBack(ledger.folder, (database) => {
      expect(database.pragma('journal_mode')).toBe('wal');
      expect(database.pragma('synchronous')).toBe(2); // FULL; sqlite.org/pragma.html#pragma_synchronous
    });
  });
});

describe('transactions', () => {
  it('when the work throws, nothing of it is there', async () => {
    const { ledger } = await ledgerWith([]);
    const failing = ledger.write('wren', async (writer) => {
      await enrolInto(writer, 5, [seedling('a'), seedling('b')]);
      throw new Error('cut short');
    });
    await expect(failing).rejects.toThrow('cut short');
    expect(await ledger.plantCount()).toBe(0);
    await ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling('c')]));
    expect(await ledger.plantCount()).toBe(1);
  });

  it('until it commits, a second connection sees nothing of it', async () => {
    const ledger = await freshLedger();
    const other = openLedger(ledger.folder, NOON);
    await ledger.write('wren', async (writer) => {
      await enrolInto(writer, 5, [seedling('a')]);
      expect(await other.plantCount()).toBe(0);
    });
    expect(await other.plantCount()).toBe(1);
    other.close();
  });

  it('when two are started at once on one ledger, they take turns', async () => {
    const ledger = await freshLedger();
    const keys = Array.from({ length: 20 }, (_, index) => `plant ${index}`);
    await Promise.all(
      keys.map((key) => ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling(key)]))),
    );
    expect(await ledger.plantCount()).toBe(20);
    expect(new Set((await ledger.plants({})).map(({ id }) => id)).size).toBe(20);
  });
});

describe('opening', () => {
  const codeOf = (work: () => unknown): string | undefined => {
    try {
      work();
      return undefined;
    } catch (error) {
      if (error instanceof LedgerError) return error.code;
      throw error;
    }
  };

  it('when there is no ledger, finds none and leaves no file behind', () => {
    const folder = freshFolder();
    expect(findLedger(folder, NOON)).toBeUndefined();
    expect(codeOf(() => openLedger(folder, NOON))).toBe('missing');
    expect(existsSync(databaseFile(folder))).toBe(false);
  });

  it('when the ledger was made by a newer Pottag, refuses it and leaves it as it is', async () => {
    const { ledger } = await ledgerWith([seedling('a')]);
    behindItsBack(ledger.folder, (database) => database.pragma('user_version = 99'));
    expect(codeOf(() => openLedger(ledger.folder, NOON))).toBe('newer');
    behindItsBack(ledger.folder, (database) => expect(database.pragma('user_version')).toBe(99));
  });

  it('when the file is no database, says it is damaged', () => {
    const folder = freshFolder();
    writeFileSync(databaseFile(folder), 'this was a ledger once '.repeat(200));
    expect(codeOf(() => openLedger(folder, NOON))).toBe('damaged');
  });

  it('when making the ledger was cut short before its first entry, makes it again', async () => {
    const folder = freshFolder();
    Database.openOrCreate(databaseFile(folder)).close();
    expect(findLedger(folder, NOON)).toBeUndefined();
    const ledger = await createLedger(folder, 6, 'wren', NOON);
    expect(ledger.idLength).toBe(6);
    ledger.close();
  });

  it('when the folder cannot be made, says so', async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'file'), '');
    const making = createLedger(join(folder, 'file', 'ledger'), 5, 'wren', NOON);
    await expect(making).rejects.toMatchObject({ code: 'unwritable' });
    chmodSync(folder, 0o755);
  });

  it('when a ledger is there already, creating one opens it with the ID length it has', async () => {
    const { ledger } = await ledgerWith([seedling('a')]);
    const again = await createLedger(ledger.folder, 7, 'wren', NOON);
    expect(again.idLength).toBe(5);
    expect(await again.plantCount()).toBe(1);
    again.close();
  });
});
