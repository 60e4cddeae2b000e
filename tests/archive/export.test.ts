import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Package } from 'datapackage';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { guarded, readTable, unguarded, writeTable } from '../../src/archive/csv.js';
import { exportLedger, importLedger } from '../../src/archive/export.js';
import { checkLedger } from '../../src/ledger/check.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { freshFolder, ledgerWith, NOON, seedling } from '../support/ledger.js';

const quiet = () => {};

/** A ledger with every kind of cell: formulas, scripts, line ends, numbers, dates, a cutting, a photo. */
async function variedLedger(): Promise<string> {
  const { ledger, ids } = await ledgerWith([
    seedling('=1+1', { seedParent: 'Hollow, "Dark"', sown: '2024-03', extra: { 'Kürzel\n': '\t@x' } }),
    seedling("'quoted'", { note: '<script>alert(1)</script>', station: 'bench 2 / row 3 / 7' }),
  ]);
  const [first, second] = ids;
  if (first === undefined || second === undefined) throw new Error('two plants were enrolled');
  const photo = keepFile(ledger.folder, 'photos', Buffer.from('a picture'), 'jpg');
  await ledger.write('@wren', async (writer) => {
    const seen = { issue: null, date: '2026-09-14' } as const;
    await writer.append({
      kind: 'observed',
      body: { id: first, ...seen, values: { brix: 18.5, flavour: '-honey\r\n"ripe"', date: 'mine' }, photo },
    });
    await writer.append({
      kind: 'observed',
      body: { id: second, ...seen, values: { brix: 17, leaf: 5 }, photo: null },
    });
    await writer.append({
      kind: 'observed',
      body: { id: second, ...seen, values: { leaf: 'five-lobed' }, photo: null },
    });
  });
  return ledger.folder;
}

describe('an export', () => {
  it('imported, is the same ledger: the same entries under the same hashes', async () => {
    const folder = await variedLedger();
    const place = freshFolder();
    await exportLedger(folder, join(place, 'csv'), NOON);
    const report = await importLedger(join(place, 'csv'), join(place, 'again'), quiet);
    expect(report).toEqual(checkLedger(folder, quiet));
    expect(report.findings).toEqual([]);
    expect([...readJournal(join(place, 'again'))]).toEqual([...readJournal(folder)]);
    expect(readdirSync(place).sort()).toEqual(['again', 'csv']);
  });

  // The validator of the Frictionless project: profiles of specs.frictionlessdata.io, types and keys of every row.
  it('is a valid tabular data package', async () => {
    const csv = join(freshFolder(), 'csv');
    const counts = await exportLedger(await variedLedger(), csv, NOON);
    expect(counts).toEqual({ entries: 6, plants: 2, tags: 0, observations: 3 });
    const described = await Package.load(join(csv, 'datapackage.json'), { basePath: csv, strict: true });
    expect(described.errors).toEqual([]);
    expect(described.valid).toBe(true);
    const rows = new Map<string, Record<string, unknown>[]>();
    for (const resource of described.resources) {
      expect(resource.errors).toEqual([]);
      rows.set(resource.name, await resource.read({ keyed: true, relations: true }));
    }
    expect(rows.get('journal')).toHaveLength(6);
    expect(rows.get('plants')).toMatchObject([
      { key: "'=1+1", seed_parent: 'Hollow, "Dark"', sown: '2024-03', ended: null },
      { key: "''quoted'", note: '<script>alert(1)</script>' },
    ]);
    expect(rows.get('observations')).toMatchObject([
      { brix: 18.5, flavour: '\'-honey\r\n"ripe"', seen_date: 'mine', doubtful: false },
      { brix: 17, leaf: '5' },
      { brix: null, leaf: 'five-lobed' },
    ]);
  });

  it('holds no cell that a spreadsheet takes for a formula', async () => {
    const csv = join(freshFolder(), 'csv');
    await exportLedger(await variedLedger(), csv, NOON);
    for (const name of ['plants', 'tags', 'observations', 'journal']) {
      for await (const cells of rawCells(join(csv, `${name}.csv`)))
        expect(cells).not.toMatch(/^[=+\-@\t\r\n]/);
    }
  });

  it('goes to a new folder only', async () => {
    const folder = await variedLedger();
    await expect(exportLedger(folder, folder, NOON)).rejects.toMatchObject({ code: 'folder-taken' });
  });
});

async function* rawCells(file: string): AsyncGenerator<string> {
  for await (const row of readTable(file)) yield* row.map((cell) => guarded(cell));
}

describe('importing', () => {
  it('refuses a journal in which anything was changed, and leaves nothing behind', async () => {
    const place = freshFolder();
    const csv = join(place, 'csv');
    await exportLedger(await variedLedger(), csv, NOON);
    const journal = join(csv, 'journal.csv');
    const whole = readFileSync(journal, 'utf8');
    const lines = whole.split('\r\n');
    const changes = [
      whole.replace('18.5', '19.5'),
      whole.replace('@wren', '@robin'),
      lines.toSpliced(2, 1).join('\r\n'),
      lines.toSpliced(2, 2, lines[3] ?? '', lines[2] ?? '').join('\r\n'),
      lines[0] ?? '',
      'anything else',
      '',
    ];
    for (const changed of changes) {
      writeFileSync(journal, changed);
      const again = join(place, 'again');
      await expect(importLedger(csv, again, quiet)).rejects.toMatchObject({ code: 'damaged' });
      expect(existsSync(again)).toBe(false);
    }
    await expect(importLedger(place, join(place, 'again'), quiet)).rejects.toMatchObject({
      code: 'no-export',
    });
  });
});

describe('CSV', () => {
  it('gives back every text as it was', async () => {
    const file = join(freshFolder(), 'table.csv');
    const column = { type: 'string', description: '', of: (text: string) => text } as const;
    const table = {
      name: 'table',
      description: '',
      primaryKey: [],
      foreignKeys: [],
      columns: [
        { ...column, name: 'a' },
        { ...column, name: 'b', of: (text: string) => `x${text}` },
      ],
    };
    const text = fc.oneof(
      fc.string({ unit: 'binary' }),
      fc.constantFrom('=1', "'", "''", '-1', '@', '\t', 'a"b', '\r\n'),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(text, { maxLength: 5 }), async (texts) => {
        expect(await writeTable(file, table, texts)).toBe(texts.length);
        const read: string[][] = [];
        for await (const row of readTable(file)) read.push(row);
        expect(read).toEqual(texts.map((each) => [each, `x${each}`]));
      }),
      { seed: 20261125, numRuns: 100 },
    );
  });

  it('keeps the apostrophe apart from the text', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => unguarded(guarded(text)) === text),
      { seed: 20261125 },
    );
  });
});
