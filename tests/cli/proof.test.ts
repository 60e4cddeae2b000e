/** `pottag proof` by the real command: what it prints, remembers and exits with. */
import { readFileSync } from 'node:fs';
import { describe, expect, onTestFinished, test } from 'vitest';
import { fileInWords } from '../../src/cli/proof-words.js';
import type { PageProof } from '../../src/sheets/proof/examine.js';
import { encodeScan, filled, PLAIN_SCAN, type Printing, scanSheet, TRUE_PRINT } from '../support/flatbed.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { type RasterPage, rasterisePdf } from '../support/rasterise.js';

/** What issue and design ask for. */
const TOLERANCE_MM = 0.2;
const OFF: Printing = { ...TRUE_PRINT, scale: 0.97, offsetMm: { x: 1.5, y: -1 } };
/** Ten large labels, whose modules a coarse scan resolves. */
const STOCK = 'letter-10-102x51';
const DPI = 120;

interface Point {
  readonly x: number;
  readonly y: number;
}

interface Document {
  readonly expected: number;
  readonly read: number;
  readonly missing: readonly {
    readonly id: string;
    readonly cell: unknown;
    readonly because: string;
    readonly page: number;
  }[];
  readonly unreadable: readonly { readonly id: string; readonly symbols: readonly string[] }[];
  readonly misplaced: readonly unknown[];
  readonly doubles: readonly unknown[];
  readonly strangers: readonly unknown[];
  readonly scale: number;
  readonly offset_mm: Point;
  readonly rotation_deg: number;
  readonly correction: { readonly nudge_mm: Point; readonly scale: number; readonly options: string } | null;
  readonly remembered: { readonly printer: string } | null;
  readonly grading: { readonly not_computed: readonly string[] };
  readonly files: readonly {
    readonly pages: readonly {
      readonly grades: readonly { readonly id: string; readonly letter: string; readonly parts: object }[];
    }[];
  }[];
}

interface TagsDocument {
  readonly tags: readonly {
    readonly id: string;
    readonly cell: unknown;
    readonly box_mm: {
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
    };
  }[];
}

function benchWith(plants: number): Bench {
  const bench = makeBench();
  const rows = Array.from({ length: plants }, (_, index) => `North ${index + 1},Aurelda,Tessa`);
  bench.write('plants.csv', ['key,seed_parent,pollen_parent', ...rows].join('\n'));
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

async function pageOf(bench: Bench, pdf: string): Promise<RasterPage> {
  const [page] = await rasterisePdf(new Uint8Array(readFileSync(bench.file(pdf))), 300);
  if (page === undefined) throw new Error('no page');
  return page;
}

async function scan(
  bench: Bench,
  name: string,
  page: RasterPage,
  printing: Printing,
  seed: number,
): Promise<string> {
  const scanning = { ...PLAIN_SCAN, dpi: DPI, turnDeg: 0.7, uneven: 0.3, noise: 0.015 };
  return bench.write(name, await encodeScan(scanSheet(page, printing, scanning, seed), 'png', DPI));
}

test('the PDF of every page is sound', () => {
  const bench = benchWith(12);
  bench.expect(0, ['tags', '--all', '--stock', STOCK, '--out', 'tags.pdf']);
  const { stdout } = bench.expect(0, ['proof', 'tags.pdf']);
  expect(stdout).toContain('Sound. 12 of 12 tags read on 2 pages of letter-10-102x51');
  const document = bench.json<Document>(0, ['proof', 'tags.pdf']);
  expect(document).toMatchObject({
    expected: 12,
    read: 12,
    missing: [],
    unreadable: [],
    misplaced: [],
    doubles: [],
  });
  expect(document.scale).toBeCloseTo(1, 4);
  expect(document.correction).toBeNull();
});

test('a bad print: what is missing, the options that correct it, and the next print is sound', async () => {
  const bench = benchWith(10);
  const { tags } = bench.json<TagsDocument>(0, ['tags', '--all', '--stock', STOCK, '--out', 'tags.pdf']);
  const [torn, covered] = [tags[2], tags[9]];
  if (torn === undefined || covered === undefined) throw new Error('too few tags');
  const page = filled(filled(await pageOf(bench, 'tags.pdf'), torn.box_mm, 220), covered.box_mm, 60);
  await scan(bench, 'scan.png', page, OFF, 1);

  const document = bench.json<Document>(1, ['proof', 'scan.png', '--printer', 'tray 2']);
  expect(document).toMatchObject({ expected: 10, read: 8, misplaced: [], doubles: [], strangers: [] });
  expect(document.missing).toMatchObject([{ id: torn.id, cell: torn.cell, because: 'empty' }]);
  expect(document.unreadable).toMatchObject([{ id: covered.id, symbols: ['qr'] }]);
  expect(Math.abs(document.scale - OFF.scale)).toBeLessThan(TOLERANCE_MM / 297);
  expect(Math.abs(document.offset_mm.x - 1.5)).toBeLessThan(TOLERANCE_MM);
  expect(Math.abs(document.offset_mm.y + 1)).toBeLessThan(TOLERANCE_MM);
  expect(document.files[0]?.pages[0]?.grades).toHaveLength(8);
  expect(document.remembered).toEqual({ printer: 'tray 2' });

  const { stdout } = bench.expect(1, ['proof', 'scan.png']);
  expect(stdout).toContain('Needs a look. 8 of 10 tags read on page 1 of letter-10-102x51');
  expect(stdout).toMatch(new RegExp(`${torn.id}\\.1 +row 2, column 1 +nothing is printed there`));
  expect(stdout).toMatch(
    /Printed at 9[67]\.\d\d % of its size, 1\.\d\d mm too far right, [01]\.\d\d mm too far up; the tag farthest off/,
  );
  expect(stdout).toContain(document.correction?.options);
  // The call that prints the two again works as it stands.
  const call =
    stdout
      .split('\n')
      .find((line) => line.includes('--reprint'))
      ?.trim()
      .split(' ')
      .slice(1) ?? [];
  const again = bench.json<TagsDocument>(0, call);
  expect(again.tags.map(({ id }) => id).sort()).toEqual([torn.id, covered.id].sort());
  expect(again.tags).toMatchObject([{ issue: 1 }, { issue: 1 }]);

  bench.expect(0, ['tags', '--all', '--stock', STOCK, '--printer', 'tray 2', '--out', 'next.pdf']);
  await scan(bench, 'next.png', await pageOf(bench, 'next.pdf'), OFF, 2);
  const next = bench.expect(0, ['proof', 'next.png']);
  expect(next.stdout).toContain('Sound. 10 of 10 tags read');
  expect(next.stdout).toMatch(/Printed at (99\.9|100\.0)\d % of its size, true to 0\.1 mm;/);

  // One tag of that printer alone: its scale cannot be measured, and nothing is offered that spoils it.
  bench.expect(0, [
    'tags',
    torn.id,
    '--reprint',
    '--stock',
    STOCK,
    '--printer',
    'tray 2',
    '--out',
    'one.pdf',
  ]);
  await scan(bench, 'one.png', await pageOf(bench, 'one.pdf'), OFF, 3);
  const one = bench.expect(0, ['proof', 'one.png']);
  expect(one.stdout).toContain('Sound. 1 of 1 tag read');
  expect(one.stdout).toContain('Printed true to 0.1 mm;');
  expect(one.stdout).not.toContain('--nudge');
  const kept = bench.expect(1, ['proof', 'one.png', '--printer', 'tray 2']);
  expect(kept.stderr).toContain('Not remembered for tray 2: there are too few tags');
});

test('a page that is not in the PDF is missing with all its tags', async () => {
  const { PDFDocument } = await import('pdf-lib');
  const bench = benchWith(12);
  bench.expect(0, ['tags', '--all', '--stock', 'letter-10-102x51', '--out', 'tags.pdf']);
  const copy = await PDFDocument.create();
  const [first] = await copy.copyPages(await PDFDocument.load(readFileSync(bench.file('tags.pdf'))), [0]);
  if (first !== undefined) copy.addPage(first);
  bench.write('first.pdf', await copy.save());
  const document = bench.json<Document>(1, ['proof', 'first.pdf']);
  expect([document.expected, document.read]).toEqual([12, 10]);
  expect(document.missing).toMatchObject([
    { page: 2, because: 'page not in the file' },
    { page: 2, because: 'page not in the file' },
  ]);
  expect(bench.expect(1, ['proof', 'first.pdf']).stdout).toContain(
    'page 2 is not in the file: 2 tags missing',
  );
});

test('a tag that was replaced since is not to be printed again', async () => {
  const bench = benchWith(3);
  const { tags } = bench.json<TagsDocument>(0, [
    'tags',
    '--all',
    '--stock',
    'letter-10-102x51',
    '--out',
    'tags.pdf',
  ]);
  const [first] = tags;
  if (first === undefined) throw new Error('no tag');
  await scan(bench, 'scan.png', filled(await pageOf(bench, 'tags.pdf'), first.box_mm, 255), TRUE_PRINT, 3);
  bench.expect(0, ['tags', first.id, '--stock', 'letter-10-102x51', '--out', 'newer.pdf']);
  const { stdout } = bench.expect(1, ['proof', 'scan.png']);
  expect(stdout).toContain(`${first.id}.1`);
  expect(stdout).not.toContain('--reprint');
});

describe('a printer is remembered only when it was measured well', () => {
  test('not from a picture without the paper edges', async () => {
    const bench = benchWith(10);
    bench.expect(0, ['tags', '--all', '--stock', STOCK, '--out', 'tags.pdf']);
    const page = await pageOf(bench, 'tags.pdf');
    const cut = scanSheet(page, OFF, { ...PLAIN_SCAN, dpi: DPI, marginMm: 0 }, 4);
    bench.write('cut.png', await encodeScan(cut, 'png', DPI));
    const run = bench.expect(1, ['proof', 'cut.png', '--printer', 'laser']);
    expect(run.stdout).toContain('The picture was taken for the page');
    expect(run.stderr).toContain("Not remembered for laser: the paper's four edges are not in the picture");
    expect(bench.json<Document>(1, ['proof', 'cut.png', '--printer', 'laser']).remembered).toBeNull();
    bench.expect(2, ['tags', '--all', '--stock', STOCK, '--printer', 'laser', '--out', 'next.pdf']);
  });

  test('a PDF has none', () => {
    const bench = benchWith(1);
    bench.expect(0, ['tags', '--all', '--stock', STOCK, '--out', 'tags.pdf']);
    expect(bench.expect(2, ['proof', 'tags.pdf', '--printer', 'laser']).stderr).toContain(
      'A PDF says nothing of a printer',
    );
  });
});

test('what cannot be proofed is refused, and says why', async () => {
  const bench = benchWith(3);
  bench.expect(0, ['tags', '--all', '--stock', STOCK, '--out', 'tags.pdf']);
  const error = (file: string) =>
    bench.json<{ error: { code: string; file: string; hint: string } }>(2, ['proof', file]).error;
  expect(error('nowhere.png')).toMatchObject({ code: 'no-file', file: 'nowhere.png' });
  expect(error('plants.csv')).toMatchObject({ code: 'not-a-picture', file: 'plants.csv' });
  bench.write('cut.pdf', readFileSync(bench.file('tags.pdf')).subarray(0, 300));
  expect(error('cut.pdf')).toMatchObject({ code: 'pdf-damaged', file: 'cut.pdf' });
  const { PDFDocument } = await import('pdf-lib');
  const empty = await PDFDocument.create();
  empty.addPage([300, 300]);
  bench.write('empty.pdf', await empty.save());
  const noTags = error('empty.pdf');
  expect(noTags).toMatchObject({ code: 'no-tag-read', file: 'empty.pdf' });
  expect(noTags.hint).not.toMatch(/dpi|photo/); // Which would not help a PDF.
  const page = await pageOf(bench, 'tags.pdf');
  await scan(bench, 'scan.png', page, TRUE_PRINT, 5);
  bench.write('cut.png', readFileSync(bench.file('scan.png')).subarray(0, 20_000));
  expect(error('cut.png')).toMatchObject({ code: 'picture-damaged', file: 'cut.png' });
  const other = benchWith(1);
  other.write('foreign.png', readFileSync(bench.file('scan.png')));
  const foreign = other.json<{ error: { code: string } }>(2, ['proof', 'foreign.png']);
  expect(foreign.error.code).toBe('not-of-this-ledger');
});

test('a sheet was printed on the day it was here, not in Greenwich', () => {
  const zone = process.env.TZ;
  onTestFinished(() => {
    if (zone === undefined) delete process.env.TZ;
    else process.env.TZ = zone;
  });
  const sheet: PageProof['page']['sheet'] = {
    file: 'kept.pdf',
    stock: STOCK,
    symbol: 'qr',
    dpi: 600,
    firstCell: 1,
    lastCell: 1,
    pages: 1,
    printedAt: '2026-03-14T20:30:00.000Z',
    nudgeMm: { x: 0, y: 0 },
    scale: 1,
  };
  const nothing = { missing: [], unreadable: [], misplaced: [], doubles: [], strangers: [], grades: [] };
  const page: PageProof = {
    page: { sheet, number: 1, isRoll: false, tags: [] },
    expectedCount: 0,
    readCount: 0,
    measured: null,
    ...nothing,
  };
  const words = () =>
    fileInWords({ file: 'tags.pdf', kind: 'pdf', pages: [page], missingPages: [] }, () => true);
  process.env.TZ = 'Pacific/Auckland';
  expect(words()).toContain('printed 2026-03-15:');
  process.env.TZ = 'UTC';
  expect(words()).toContain('printed 2026-03-14:');
});

test('help says what the grade is made of and what not', () => {
  const { stdout } = makeBench().expect(0, ['proof', '--help']);
  for (const said of ['ISO/IEC 15415', 'ISO/IEC 15416', 'Not computed', 'it certifies nothing', '0.5 mm']) {
    expect(stdout.replaceAll(/\s+/g, ' ')).toContain(said);
  }
});
