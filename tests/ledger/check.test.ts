import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type CheckReport, checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import { ENTRY_BODIES } from '../../src/ledger/entries.js';
import { PHOTOS_FOLDER } from '../../src/ledger/folders.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { databaseFile } from '../../src/ledger/sqlite-ledger.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const check = (ledger: Ledger): CheckReport => checkLedger(ledger.folder, () => {});

/** A ledger of every kind of entry. */
async function fullLedger(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a', { extra: { lot: '1' } }), seedling('b')]);
  const [id, other] = ids;
  if (id === undefined || other === undefined) throw new Error('two plants');
  const place = { stock: 'a4', page: 1, row: 1, column: 1 };
  const photo = keepFile(ledger.folder, PHOTOS_FOLDER, Buffer.from('a picture'), 'jpg');
  const sheet = keepFile(ledger.folder, 'sheets', Buffer.from('a sheet'), 'pdf');
  await ledger.write('wren', async (writer) => {
    const printed = {
      stock: 'a4',
      symbol: 'qr' as const,
      dpi: 300,
      link: null,
      firstCell: 1,
      lastCell: 1,
      pages: 1,
      nudgeMm: { x: 0, y: 0 },
      scale: 1,
    };
    await writer.append({ kind: 'sheet-printed', body: { ...sheet, ...printed } });
    await writer.append({ kind: 'tag-issued', body: { id, issue: 1, sheet: sheet.file, ...place } });
    await writer.append({ kind: 'tag-reprinted', body: { id, issue: 1, sheet: sheet.file, ...place } });
    await writer.append({ kind: 'tag-voided', body: { id, issue: 1, why: 'faded' } });
    await writer.append({ kind: 'plant-amended', body: { id, changes: { station: 'bench 1', extra: {} } } });
    const observed = { id, issue: 1, date: '2026-09-14', values: { alive: 'no' }, photo };
    const seen = await writer.append({ kind: 'observed', body: observed });
    const days = { since: '2026-09-01', until: '2026-09-14' };
    await writer.append({ kind: 'exchanged', body: { a: id, b: other, ...days } });
    const moved = await writer.append({ kind: 'reassigned', body: { entry: seen.id, id } });
    await writer.append({ kind: 'withdrawn', body: { entry: moved.id, why: 'a slip' } });
    await writer.append({ kind: 'restored', body: { entry: moved.id } });
    const doubt = { plants: [id, other], after: null, until: '2026-09-14' };
    await writer.append({ kind: 'doubted', body: doubt });
    await writer.append({ kind: 'withdrawn', body: { entry: seen.id, why: 'a slip' } });
    await writer.append({ kind: 'changed', body: { what: 'undo', words: 'all of it', entries: 6 } });
    await writer.append({ kind: 'observed', body: { ...observed, values: { brix: 17 }, photo: null } });
    const copy = { copy: '01a2124f-3f33-72d9-8917-36729c1c073a', device: 'field laptop' };
    await writer.append({ kind: 'merged', body: { ...copy, after: seen.id, entries: 1 } });
    const calibration = { nudgeMm: { x: 1, y: 0 }, scale: 1 };
    await writer.append({ kind: 'printer-calibrated', body: { printer: 'laser', ...calibration } });
    await writer.append({ kind: 'copied', body: { device: 'field laptop', of: 'elsewhere' } });
  });
  return ledger;
}

/** Changes the database file as nothing in Pottag does. */
function tamper(ledger: Ledger, work: string | ((database: Database) => void)): void {
  const database = Database.openOrCreate(databaseFile(ledger.folder));
  if (typeof work === 'string') database.execute(work);
  else work(database);
  database.close();
}

const WITHOUT_PROTECTION = 'DROP TRIGGER journal_keeps_entries; DROP TRIGGER journal_keeps_content;';

describe('checkLedger', () => {
  it('when nothing is wrong, finds nothing and counts', async () => {
    const report = check(await fullLedger());
    // One of its two observations is taken back.
    expect(report).toEqual({ entries: 20, plants: 2, tags: 1, observations: 1, findings: [], remarks: [] });
  });

  it('of the ledger above, every kind of entry is checked', async () => {
    const kinds = new Set<string>();
    tamper(await fullLedger(), (database) => {
      for (const { kind } of database.all<{ kind: string }>('SELECT kind FROM journal')) kinds.add(kind);
    });
    expect([...kinds].sort()).toEqual(Object.keys(ENTRY_BODIES).sort());
  });

  it('when an entry is about one that is not there, or is none to be taken back, finds it', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const [id] = ids;
    if (id === undefined) throw new Error('one plant');
    await ledger.write('wren', async (writer) => {
      const amended = await writer.append({ kind: 'plant-amended', body: { id, changes: { note: 'x' } } });
      await writer.append({ kind: 'withdrawn', body: { entry: amended.id, why: 'a slip' } });
      const nowhere = '01a2124f-3f33-72d9-8917-36729c1c073a';
      await writer.append({ kind: 'restored', body: { entry: nowhere } });
      await writer.append({ kind: 'changed', body: { what: 'undo', words: 'too much', entries: 99 } });
    });
    expect(check(ledger).findings).toMatchObject([
      { where: 'entry 4', what: expect.stringMatching(/"plant-amended"/) },
      { where: 'entry 5', what: expect.stringMatching(/not there/) },
      { where: 'entry 6', what: expect.stringMatching(/more entries/) },
    ]);
  });

  const changes: readonly (readonly [what: string, sql: string, where: RegExp])[] = [
    [
      'an entry is edited',
      `${WITHOUT_PROTECTION} UPDATE journal SET body = replace(body, 'a4', 'a5') WHERE seq = 5`,
      /entry 5/,
    ],
    ['an author is edited', `${WITHOUT_PROTECTION} UPDATE journal SET by = 'fox' WHERE seq = 2`, /entry 2/],
    ['a time is edited', `${WITHOUT_PROTECTION} UPDATE journal SET at = '2020' WHERE seq = 9`, /entry 9/],
    ['an entry is removed', `${WITHOUT_PROTECTION} DELETE FROM journal WHERE seq = 4`, /entry 5/],
    ['the last entry is removed', `${WITHOUT_PROTECTION} DELETE FROM journal WHERE seq = 20`, /table copied/],
    ['the protection is removed', 'DROP TRIGGER journal_keeps_content', /trigger journal_keeps_content/],
    [
      'a definition is changed',
      'DROP VIEW standing_observation; CREATE VIEW standing_observation AS SELECT seq, plant, date FROM observation',
      /view standing_observation/,
    ],
    ['a plant is edited', "UPDATE plant SET station = 'elsewhere' WHERE number = 2", /table plant, row 2/],
    ['a plant is removed', 'DELETE FROM plant WHERE number = 2', /table plant, row 2/],
    ['a tag is revived', "UPDATE tag SET status = 'current'", /table tag, row 1/],
    ['an observation is moved', 'UPDATE observation SET plant = 2', /table observation, row 1/],
    ['an exchange is edited', "UPDATE correction SET since = '2025-01-01'", /table correction, row 1/],
    ['what was taken back is brought back', 'DELETE FROM withdrawal', /table withdrawal, row 1/],
    ['a doubt is removed', 'DELETE FROM doubt', /table doubt, row 1/],
    ["a doubt's plant is removed", 'DELETE FROM doubt_plant WHERE plant = 2', /table doubt_plant, row 2/],
    ['a field copy is taken for the ledger at home', 'DELETE FROM copied', /table copied, row 1/],
    ['what a copy recorded is put elsewhere', 'UPDATE merged SET place = 1', /table merged, row 1/],
    ['a change is shortened', 'UPDATE change SET first = first + 1', /table change, row 1/],
  ];
  for (const [what, sql, where] of changes) {
    it(`when ${what} behind its back, finds it`, async () => {
      const ledger = await fullLedger();
      tamper(ledger, sql);
      const { findings } = check(ledger);
      expect(findings.length).toBeGreaterThan(0);
      expect(findings.every(({ kind }) => kind === 'damage')).toBe(true);
      expect(findings.map((finding) => finding.where).join('; ')).toMatch(where);
    });
  }

  it('remarks on files that no entry names and on what an ended command left, and finds nothing', async () => {
    const ledger = await fullLedger();
    const unnamed = keepFile(ledger.folder, PHOTOS_FOLDER, Buffer.from('never recorded'), 'png').file;
    const ended = spawnSync(process.execPath, ['--version']).pid;
    writeFileSync(join(ledger.folder, PHOTOS_FOLDER, `.pottag-${ended}-1.part`), '');
    writeFileSync(join(ledger.folder, PHOTOS_FOLDER, `.pottag-${process.pid}-1.part`), '');
    const { findings, remarks } = check(ledger);
    expect(findings).toEqual([]);
    expect(remarks.map(({ where }) => where).sort()).toEqual([
      `photos/.pottag-${ended}-1.part`,
      `photos/${unnamed}`,
    ]);
  });

  it('when a kept photo or sheet is changed or missing, finds the file', async () => {
    const ledger = await fullLedger();
    const photo = keepFile(ledger.folder, PHOTOS_FOLDER, Buffer.from('a picture'), 'jpg').file;
    writeFileSync(join(ledger.folder, PHOTOS_FOLDER, photo), 'another picture');
    rmSync(join(ledger.folder, 'sheets'), { recursive: true });
    mkdirSync(join(ledger.folder, 'sheets'));
    const { findings } = check(ledger);
    expect(findings.map(({ kind }) => kind)).toEqual(['file', 'file']);
    expect(findings.map(({ what }) => what).join(' ')).toMatch(/missing.*changed/);
  });
});
