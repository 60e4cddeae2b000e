/**
 * Files that people give, spoilt: read, or refused with words (InputError, exit code 2; of a ledger's copy
 * LedgerError, 3). Anything else that is thrown would be a fault of Pottag (70).
 */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { backUp, restore } from '../../src/archive/backup.js';
import { exportLedger, importLedger } from '../../src/archive/export.js';
import { readTagText } from '../../src/codes/tag-text.js';
import { InputError, LedgerError } from '../../src/errors.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { readPlantRows } from '../../src/plants/rows.js';
import { csvWithIds } from '../../src/plants/write-back.js';
import { loadPicture } from '../../src/scan/picture.js';
import { checkStock } from '../../src/sheets/stock-check.js';
import { readWalk } from '../../src/walk/rows.js';
import { freshFolder, ledgerWith, NOON, seedling } from '../support/ledger.js';
import { mutated } from './mutate.js';

const ROOT = join(import.meta.dirname, '../..');
const SEED = { seed: 20261125 };
const filesIn = (folder: string, ending: string) =>
  readdirSync(join(ROOT, folder))
    .filter((name) => name.endsWith(ending))
    .map((name) => readFileSync(join(ROOT, folder, name)));

/** What a person can act on. */
function refused(error: unknown): void {
  if (!(error instanceof InputError || error instanceof LedgerError)) throw error;
  expect(error.message).toMatch(/\S/);
  expect(error.hint).toMatch(/\S/);
}

describe('spoilt CSVs', () => {
  const tables = filesIn('examples', '.csv');

  it('of plants are read or refused; every problem has words, and what is read can be written back', () => {
    let read = 0;
    fc.assert(
      fc.property(mutated(...tables), (bytes) => {
        try {
          const { rows, problems, source } = readPlantRows(bytes, {
            columns: new Map(),
            today: '2026-11-25',
            file: 'x.csv',
          });
          for (const { problem } of problems) expect(problem).toMatch(/\S/);
          const again = Buffer.from(csvWithIds(source, new Map()));
          expect(
            readPlantRows(again, { columns: new Map(), today: '2026-11-25', file: 'x.csv' }).rows.map(
              ({ fields }) => fields,
            ),
          ).toEqual(rows.map(({ fields }) => fields));
          read++;
        } catch (error) {
          refused(error);
        }
      }),
      { ...SEED, numRuns: 400 },
    );
    expect(read).toBeGreaterThan(30);
  });

  it('of walks are read or refused', () => {
    fc.assert(
      fc.property(
        mutated(
          ...tables,
          Buffer.from('station;scanned;height_cm\r\nbench 1 / 1;PXSV9.1;64,5\r\nb;none;\r\n'),
        ),
        (bytes) => {
          try {
            readWalk(bytes, 'x.csv');
          } catch (error) {
            refused(error);
          }
        },
      ),
      { ...SEED, numRuns: 400 },
    );
  });
});

it('spoilt stock files are sound or have problems with words', () => {
  const layouts = filesIn('layouts', '.json').map((bytes) => JSON.parse(bytes.toString()) as unknown);
  const odd = fc.constantFrom<unknown>(
    null,
    -1,
    0,
    1e-300,
    1e9,
    1e300,
    Number.MAX_SAFE_INTEGER,
    '',
    'x'.repeat(1000),
    [],
    {},
    true,
    [[]],
    '__proto__',
  );
  fc.assert(
    fc.property(
      fc.constantFrom(...layouts),
      fc.array(fc.tuple(fc.nat(), odd), { minLength: 1, maxLength: 3 }),
      (layout, changes) => {
        const copy = structuredClone(layout);
        for (const [which, value] of changes) replaceAt(copy, which, structuredClone(value));
        const { problems } = checkStock(copy);
        for (const { problem } of problems) expect(problem).toMatch(/\S/);
      },
    ),
    { ...SEED, numRuns: 600 },
  );
});

/** Puts `value` in one of all the places of a JSON document. */
function replaceAt(document: unknown, which: number, value: unknown): void {
  const places: [object: Record<string, unknown>, key: string][] = [];
  const walk = (node: unknown) => {
    if (typeof node !== 'object' || node === null) return;
    for (const [key, child] of Object.entries(node)) {
      places.push([node as Record<string, unknown>, key]);
      walk(child);
    }
  };
  walk(document);
  const [object, key] = places[which % places.length] ?? [];
  if (object !== undefined && key !== undefined) object[key] = value;
}

it('any text is a tag or none', () => {
  const near = mutated(
    ...['K7FY5.1', 'PXSV9', 'HTTPS://EXAMPLE.ORG/K7FY5.2', 'K?F?5.12'].map((text) => Buffer.from(text)),
  );
  fc.assert(
    fc.property(fc.oneof(fc.string({ unit: 'binary', maxLength: 3000 }), near.map(String)), (text) => {
      for (const length of [5, 6, 7] as const) expect(readTagText(text, length).kind).toBeTypeOf('string');
    }),
    { ...SEED, numRuns: 1000 },
  );
});

describe('pictures', () => {
  const noise = Buffer.from(Array.from({ length: 48 * 48 * 3 }, (_, index) => (index * 73) % 251));
  const image = () => sharp(noise, { raw: { width: 48, height: 48, channels: 3 } });

  it('that are spoilt are read or refused', async () => {
    const files = await Promise.all(
      [image().png(), image().jpeg(), image().webp()].map((each) =>
        each.withMetadata({ orientation: 6 }).toBuffer(),
      ),
    );
    let read = 0;
    await fc.assert(
      fc.asyncProperty(mutated(...files), async (bytes) => {
        try {
          const { data, width, height } = await loadPicture(bytes);
          expect(data.length).toBe(width * height);
          read++;
        } catch (error) {
          refused(error);
        }
      }),
      { ...SEED, numRuns: 300 },
    );
    expect(read).toBeLessThan(200);
  });

  // PNG (ISO/IEC 15948), 11.2.2: width and height stand in the header, however little follows.
  it('that claim to be huge, or swell from a few bytes, are refused before they are unpacked', async () => {
    const png = await image().png().toBuffer();
    for (const [width, height] of [
      [0xffff, 0xffff],
      [0x7fffffff, 0x7fffffff],
      [1, 0x7fffffff],
      [0, 48],
    ] as const) {
      const bytes = Buffer.from(png);
      bytes.writeUInt32BE(width, 16);
      bytes.writeUInt32BE(height, 20);
      bytes.writeUInt32BE(crc32(bytes.subarray(12, 29)), 29);
      await expect(loadPicture(bytes)).rejects.toBeInstanceOf(InputError);
    }
    const swelling = sharp({
      create: { width: 12_000, height: 12_000, channels: 3, background: '#fff' },
      limitInputPixels: false,
    });
    const bomb = await swelling.png({ compressionLevel: 9 }).toBuffer();
    expect(bomb.length).toBeLessThan(2_000_000);
    const before = process.memoryUsage.rss();
    await expect(loadPicture(bomb)).rejects.toMatchObject({ code: 'picture-too-large' });
    expect(process.memoryUsage.rss() - before).toBeLessThan(100e6);
  });
});

/** ISO/IEC 15948, annex D. */
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}

describe('spoilt copies of a ledger', () => {
  async function garden(): Promise<string> {
    const { ledger, ids } = await ledgerWith([seedling('a', { note: 'x "y", z' }), seedling('=b')]);
    const photo = keepFile(ledger.folder, 'photos', Buffer.from('a picture'), 'jpg');
    await ledger.write('wren', async (writer) => {
      const [id] = ids;
      if (id === undefined) throw new Error('a plant');
      await writer.append({
        kind: 'observed',
        body: { id, issue: null, date: '2026-09-14', values: { note: 'é\r\n' }, photo },
      });
    });
    return ledger.folder;
  }

  it('as CSV give the same ledger or are refused, and nothing is left behind', async () => {
    const folder = await garden();
    const place = freshFolder();
    await exportLedger(folder, join(place, 'csv'), NOON);
    const whole = readFileSync(join(place, 'csv', 'journal.csv'));
    mkdirSync(join(place, 'made'));
    let made = 0;
    await fc.assert(
      fc.asyncProperty(mutated(whole), async (bytes) => {
        writeFileSync(join(place, 'csv', 'journal.csv'), bytes);
        const target = join(place, 'made', `${made}`);
        try {
          await importLedger(join(place, 'csv'), target, () => {});
          made++;
          expect([...readJournal(target)]).toEqual([...readJournal(folder)]);
        } catch (error) {
          refused(error);
        }
        expect(readdirSync(join(place, 'made'))).toHaveLength(made);
      }),
      { ...SEED, numRuns: 100 },
    );
  });

  it('as a backup are refused, or are a sound ledger', async () => {
    const folder = await garden();
    const place = freshFolder();
    const file = join(place, 'copy.tar.gz');
    await backUp(folder, file);
    const whole = readFileSync(file);
    let made = 0;
    await fc.assert(
      fc.asyncProperty(mutated(whole), async (bytes) => {
        writeFileSync(file, bytes);
        const target = join(place, `again${made}`);
        try {
          const { findings } = await restore(file, target, () => {});
          made++;
          expect(findings).toEqual([]);
          expect([...readJournal(target)]).toEqual([...readJournal(folder)]);
        } catch (error) {
          refused(error);
        }
      }),
      { ...SEED, numRuns: 100 },
    );
    expect(readdirSync(place)).toHaveLength(1 + made);
  });
});
