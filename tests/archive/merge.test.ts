/** What field copies recorded comes home whole, once, with its photos; and what is no such copy is refused. */
import { cpSync, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { backUp } from '../../src/archive/backup.js';
import { copyForField } from '../../src/archive/copy.js';
import { exportLedger, importLedger } from '../../src/archive/export.js';
import { type Merged, mergeCopy } from '../../src/archive/merge.js';
import { InputError, LedgerError } from '../../src/errors.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import { viewAsOf } from '../../src/ledger/as-of.js';
import { checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues } from '../../src/ledger/model.js';
import { databaseFile, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { undo } from '../../src/observe/undo.js';
import { enrolInto, freshFolder, homeOf, ledgerWith, NOON, seedling } from '../support/ledger.js';

const quiet = () => {};
const LATER = () => new Date('2026-09-20T12:00:00.000Z');

let home: Ledger;
let a: PlantId;
let b: PlantId;
let copy: string;

beforeEach(async () => {
  const made = await ledgerWith([seedling('a'), seedling('b')]);
  home = made.ledger;
  [a, b] = made.ids as [PlantId, PlantId];
  const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
  await home.write('wren', async (writer) => {
    for (const id of [a, b]) await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } });
  });
  copy = await copied('laptop');
});

async function copied(device: string): Promise<string> {
  const folder = join(freshFolder(), 'copy');
  await copyForField(homeOf(home), folder, device, 'wren', NOON);
  return folder;
}

function open(folder: string): Ledger {
  const ledger = openLedger(folder, NOON);
  onTestFinished(() => ledger.close());
  return ledger;
}

async function see(folder: string, id: PlantId, date: string, values: ObservedValues, photo = false) {
  const kept = photo ? keepFile(folder, 'photos', Buffer.from(`photo of ${date}`), 'jpg') : null;
  const ledger = openLedger(folder, NOON);
  const body = { id, issue: 1, date, values, photo: kept };
  const { id: entry } = await ledger.write('finch', (writer) => writer.append({ kind: 'observed', body }));
  ledger.close();
  return { entry, photo: kept };
}

const merge = (from: string): Promise<Merged> => mergeCopy(home, from, 'wren', quiet);
const kinds = ({ conflicts }: Merged) => conflicts.map(({ kind }) => kind);

describe('a field copy', () => {
  it('is a sound ledger with the same plants that knows what it is; an export of it knows too', async () => {
    const folder = open(copy);
    expect(await folder.fieldCopy()).toMatchObject({ device: 'laptop', of: home.folder, number: 6 });
    expect(await home.fieldCopy()).toBeUndefined();
    expect(await folder.plant(a)).toEqual(await home.plant(a));
    expect(checkLedger(copy, quiet).findings).toEqual([]);
    const place = freshFolder();
    await exportLedger(copy, join(place, 'csv'), NOON);
    await importLedger(join(place, 'csv'), join(place, 'again'), quiet);
    expect(await open(join(place, 'again')).fieldCopy()).toEqual(await folder.fieldCopy());
  });

  it('enrols nothing, issues and voids no tag, exchanges nothing, takes back nothing of home, and is not copied', async () => {
    const { entry } = await see(home.folder, a, '2026-09-01', { brix: 15 });
    const field = open(await copied('second'));
    const refusal = /field copy "second".*of the ledger in/;
    const days = { since: '2026-09-01', until: '2026-09-02' };
    const place = { stock: 'a4', sheet: 'y.pdf', page: 1, row: 1, column: 1 };
    const refused = [
      field.write('finch', (writer) => enrolInto(writer, 5, [seedling('z')])),
      field.write('finch', (w) => w.append({ kind: 'tag-issued', body: { id: a, issue: 2, ...place } })),
      field.write('finch', (w) => w.append({ kind: 'tag-voided', body: { id: a, issue: 1, why: 'lost' } })),
      field.write('finch', (w) => w.append({ kind: 'exchanged', body: { a, b, ...days } })),
      field.write('finch', (w) => w.append({ kind: 'reassigned', body: { entry, id: b } })),
      undo(field, entry, 'finch'),
      copyForField(homeOf(field), join(freshFolder(), 'third'), 'third', 'wren', NOON),
    ];
    for (const each of refused) await expect(each).rejects.toThrow(InputError);
    for (const each of refused.slice(0, 6)) await expect(each).rejects.toThrow(refusal);
    expect(checkLedger(field.folder, quiet)).toMatchObject({ entries: 7, plants: 2, findings: [] });
  });
});

describe('merge', () => {
  it('brings each entry home once, with its UUID, time, author and photo', async () => {
    const { entry, photo } = await see(copy, a, '2026-09-02', { brix: 18 }, true);
    const slip = await see(copy, b, '2026-09-02', { brix: 1 });
    await undo(open(copy), slip.entry, 'finch');
    expect(await merge(copy)).toEqual({
      device: 'laptop',
      brought: 4,
      observations: 2,
      known: 0,
      photos: 1,
      conflicts: [],
    });
    const own = [...readJournal(copy)]
      .slice(6)
      .map(({ id, at, by, kind, body }) => ({ id, at, by, kind, body }));
    expect([...readJournal(home.folder)].slice(5, 9)).toMatchObject(own);
    expect(await home.observations(a)).toMatchObject([{ entry, by: 'finch', values: { brix: 18 }, photo }]);
    expect(await home.withdrawnObservations(b)).toMatchObject([{ entry: slip.entry }]);
    expect(readFileSync(join(home.folder, 'photos', photo?.file ?? ''), 'utf8')).toBe('photo of 2026-09-02');
    const before = [...readJournal(home.folder)];
    expect(await merge(copy)).toMatchObject({ brought: 0, known: 4, photos: 0, conflicts: [] });
    expect([...readJournal(home.folder)]).toEqual(before);
    await see(copy, a, '2026-09-03', { brix: 19 });
    expect(await merge(copy)).toMatchObject({ brought: 1, known: 4 });
    expect(checkLedger(home.folder, quiet).findings.filter(({ kind }) => kind === 'damage')).toEqual([]);
  });

  it('takes a backup of the copy, and a copy whose folder was copied and written in twice', async () => {
    await see(copy, a, '2026-09-02', { brix: 18 });
    const twin = join(freshFolder(), 'twin');
    cpSync(copy, twin, { recursive: true });
    await see(copy, a, '2026-09-03', { brix: 19 });
    await see(twin, a, '2026-09-04', { brix: 20 });
    const file = join(freshFolder(), 'copy.tar.gz');
    await backUp(copy, file);
    expect(await merge(file)).toMatchObject({ brought: 2, known: 0 });
    expect(await merge(twin)).toMatchObject({ brought: 1, known: 1 });
    expect((await home.observations(a)).map(({ values }) => values.brix)).toEqual([18, 19, 20]);
  });

  it('is not known on days before it', async () => {
    await see(copy, a, '2026-09-02', { brix: 18 });
    home.close();
    home = openLedger(home.folder, LATER);
    onTestFinished(() => home.close());
    await merge(copy);
    const brixes = async (day: string) => {
      const view = viewAsOf(home.folder, 5, new Date(`${day}T00:00:00Z`));
      const found = (await view.observations(a)).map(({ values }) => values.brix);
      view.close();
      return found;
    };
    expect(await brixes('2026-09-19')).toEqual([]);
    expect(await brixes('2026-09-21')).toEqual([18]);
  });

  it('brings a photo that was missing when its entry came', async () => {
    const { photo } = await see(copy, a, '2026-09-02', { brix: 18 }, true);
    const file = join(copy, 'photos', photo?.file ?? '');
    const bytes = readFileSync(file);
    rmSync(file);
    expect(kinds(await merge(copy))).toEqual(['photo']);
    writeFileSync(file, 'another picture');
    expect(kinds(await merge(copy))).toEqual(['photo']);
    expect(existsSync(join(home.folder, 'photos', photo?.file ?? ''))).toBe(false);
    writeFileSync(file, bytes);
    expect(await merge(copy)).toMatchObject({ brought: 0, photos: 1, conflicts: [] });
  });
});

describe('what may not be true together is found', () => {
  it('a plant that ended at home before', async () => {
    await see(home.folder, a, '2026-09-01', { alive: 'no' });
    await see(copy, a, '2026-09-02', { brix: 18 });
    expect((await merge(copy)).conflicts).toMatchObject([{ kind: 'ended', id: a, ended: '2026-09-01' }]);
    expect(await home.observations(a)).toHaveLength(2);
  });

  it('a tag that was given up at home by then', async () => {
    await home.write('wren', (w) => w.append({ kind: 'tag-voided', body: { id: a, issue: 1, why: 'lost' } }));
    await see(copy, a, '2026-09-13', { brix: 17 }); // The day before.
    await see(copy, a, '2026-09-14', { brix: 18 });
    const { conflicts } = await merge(copy);
    expect(conflicts).toMatchObject([
      { kind: 'old-tag', id: a, issue: 1, since: '2026-09-14', date: '2026-09-14' },
    ]);
  });

  it('an exchange at home that covers the day: the observation is put under the other plant', async () => {
    await home.write('wren', (writer) =>
      writer.append({ kind: 'exchanged', body: { a, b, since: '2026-09-01', until: '2026-09-10' } }),
    );
    await see(copy, a, '2026-09-02', { brix: 18 });
    expect((await merge(copy)).conflicts).toMatchObject([{ kind: 'exchanged', id: b, recordedAs: a }]);
    expect(await home.observations(b)).toMatchObject([{ values: { brix: 18 }, recordedAs: a }]);
  });

  it('a doubt at home about the day', async () => {
    await home.write('wren', (writer) =>
      writer.append({ kind: 'doubted', body: { plants: [a, b], after: null, until: '2026-09-10' } }),
    );
    await see(copy, a, '2026-09-02', { brix: 18 });
    expect(kinds(await merge(copy))).toEqual(['doubtful']);
  });

  it('two copies, one of which saw the plant dead and one alive on a day: the one made later counts', async () => {
    const second = await copied('second');
    await see(copy, a, '2026-09-02', { alive: 'no' });
    await see(second, a, '2026-09-02', { alive: 'yes' });
    expect(kinds(await merge(second))).toEqual([]);
    expect(kinds(await merge(copy))).toEqual(['alive']);
    expect(kinds(await merge(second))).toEqual(['alive']);
    expect((await home.plant(a))?.ended).toBeNull();
  });

  it('what was taken back at home and in the copy, or put back in it', async () => {
    const { entry } = await see(copy, a, '2026-09-02', { brix: 18 });
    await merge(copy);
    await undo(home, entry, 'wren');
    const field = open(copy);
    const { change } = await undo(field, entry, 'finch');
    expect((await merge(copy)).conflicts).toMatchObject([{ kind: 'taken-back-here', entry, stands: false }]);
    await undo(field, change.id, 'finch');
    expect((await merge(copy)).conflicts).toEqual([]);
    expect(await home.observations(a)).toMatchObject([{ entry }]);
  });

  it('an entry that says something else under the same UUID', async () => {
    const { entry } = await see(copy, a, '2026-09-02', { brix: 18 });
    const body = { id: a, issue: 1, date: '2026-09-02', values: { brix: 8 }, photo: null };
    await home.write('wren', (writer) => writer.append({ kind: 'observed', body }, entry));
    expect((await merge(copy)).conflicts).toMatchObject([{ kind: 'differs', entry, values: { brix: 18 } }]);
  });
});

describe('refused, with nothing merged, is', () => {
  async function refusal(from: string, into = home): Promise<InputError | LedgerError> {
    const before = [...readJournal(into.folder)];
    const error = await mergeCopy(into, from, 'wren', quiet).catch((thrown: unknown) => thrown);
    expect([...readJournal(into.folder)]).toEqual(before);
    if (error instanceof InputError || error instanceof LedgerError) return error;
    throw error;
  }

  function behindItsBack(folder: string, sql: string): void {
    const database = Database.openOrCreate(databaseFile(folder));
    database.execute(sql);
    database.close();
  }

  it('what is no field copy, or not there', async () => {
    const { ledger: other } = await ledgerWith([seedling('a')]);
    expect(await refusal(other.folder)).toMatchObject({ code: 'not-a-copy' });
    expect(await refusal(home.folder)).toMatchObject({ code: 'not-a-copy' });
    expect(await refusal(freshFolder())).toMatchObject({ code: 'no-copy' });
    expect(await refusal(join(freshFolder(), 'nowhere'))).toMatchObject({ code: 'no-copy' });
  });

  it('a copy of another ledger, or of a later state of this one, and merging into a copy', async () => {
    const { ledger: other } = await ledgerWith([seedling('a')]);
    expect(await refusal(copy, other)).toMatchObject({ code: 'another-ledger' });
    const older = join(freshFolder(), 'older');
    cpSync(home.folder, older, { recursive: true });
    await see(home.folder, a, '2026-09-01', { brix: 15 });
    const later = await copied('later');
    expect(await refusal(later, open(older))).toMatchObject({ code: 'later-copy' });
    expect(await refusal(later, open(copy))).toMatchObject({ code: 'field-copy' });
  });

  it('a copy whose chain is damaged, that a newer version wrote, or that holds what no copy records', async () => {
    await see(copy, a, '2026-09-02', { brix: 18 });
    const damaged = join(freshFolder(), 'damaged');
    cpSync(copy, damaged, { recursive: true });
    behindItsBack(
      damaged,
      "DROP TRIGGER journal_keeps_content; UPDATE journal SET body = replace(body, '18', '19') WHERE seq = 7",
    );
    expect(await refusal(damaged)).toMatchObject({ name: 'LedgerError', code: 'damaged' });
    const enrolling = join(freshFolder(), 'enrolling');
    cpSync(copy, enrolling, { recursive: true });
    behindItsBack(enrolling, 'DELETE FROM copied');
    await open(enrolling).write('finch', (writer) => enrolInto(writer, 5, [seedling('z')]));
    behindItsBack(enrolling, 'INSERT INTO copied VALUES (6)');
    expect(await refusal(enrolling)).toMatchObject({ name: 'LedgerError', code: 'damaged' });
    behindItsBack(copy, 'PRAGMA user_version = 99');
    expect(await refusal(copy)).toMatchObject({ name: 'LedgerError', code: 'newer' });
  });
});
