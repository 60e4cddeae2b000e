import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type CheckReport, checkLedger } from '../../src/ledger/check.js';
import { Database } from '../../src/ledger/database.js';
import { PHOTOS_FOLDER } from '../../src/ledger/folders.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { databaseFile } from '../../src/ledger/sqlite-ledger.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const check = (ledger: Ledger): CheckReport => checkLedger(ledger.folder, () => {});

/** A ledger of every kind of entry. */
async function fullLedger(): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith([seedling('a', { extra: { lot: '1' } }), seedling('b')]);
  const [id] = ids;
  if (id === undefined) throw new Error('two plants');
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
    await writer.append({ kind: 'observed', body: observed });
  });
  return ledger;
}

/** Changes the database file as nothing in Pottag does. */
function tamper(ledger: Ledger, sql: string): void {
  const database = Database.openOrCreate(databaseFile(ledger.folder));
  database.execute(sql);
  database.close();
}

const WITHOUT_PROTECTION = 'DROP TRIGGER journal_keeps_entries; DROP TRIGGER journal_keeps_content;';

describe('checkLedger', () => {
  it('when nothing is wrong, finds nothing and counts', async () => {
    const report = check(await fullLedger());
    expect(report).toEqual({ entries: 9, plants: 2, tags: 1, observations: 1, findings: [] });
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
    [
      'the last entry is removed',
      `${WITHOUT_PROTECTION} DELETE FROM journal WHERE seq = 9`,
      /table (plant|observation)/,
    ],
    ['the protection is removed', 'DROP TRIGGER journal_keeps_content', /journal/],
    ['a plant is edited', "UPDATE plant SET station = 'elsewhere' WHERE number = 2", /table plant, row 2/],
    ['a plant is removed', 'DELETE FROM plant WHERE number = 2', /table plant, row 2/],
    ['a tag is revived', "UPDATE tag SET status = 'current'", /table tag, row 1/],
    ['an observation is moved', 'UPDATE observation SET plant = 2', /table observation, row 1/],
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
