/** What `--out` names, and the pictures for label printers: each dot as the PDF and the symbologies have it. */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import bwipjs from 'bwip-js/node';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import { pageNames, parseOutput, writeSheets } from '../../src/sheets/output.js';
import { type PlacedSymbol, renderSheets } from '../../src/sheets/sheets.js';
import type { Stock } from '../../src/sheets/stock.js';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { freshFolder } from '../support/ledger.js';
import { type GrayImage, rasterisePdf } from '../support/rasterise.js';
import { PLAIN, SYMBOLS, sheetsIfFit, shippedStocks, TAGS } from './samples.js';

const rolls = shippedStocks.filter(({ page }) => page.kind === 'roll');
const roll = loadStock('roll-203-50x25', [shippedStocksFolder()]);
const sheet = loadStock('a4-65-38x21', [shippedStocksFolder()]);

async function opened(file: string): Promise<GrayImage> {
  const { data, info } = await sharp(file).toColourspace('b-w').raw().toBuffer({ resolveWithObject: true });
  expect(info.channels).toBe(1);
  return { data: new Uint8Array(data), width: info.width, height: info.height };
}

describe('what --out names', () => {
  it('is told by its ending, or by being a folder', () => {
    const folder = freshFolder();
    mkdirSync(join(folder, 'old.pdf'));
    expect(parseOutput('tags.PDF')).toEqual({ kind: 'pdf', file: 'tags.PDF' });
    expect(parseOutput('tag.png')).toEqual({ kind: 'png', file: 'tag.png' });
    expect(parseOutput('labels/')).toEqual({ kind: 'folder', folder: 'labels/' });
    expect(parseOutput(folder)).toEqual({ kind: 'folder', folder });
    expect(parseOutput(join(folder, 'old.pdf')).kind).toBe('folder');
    for (const other of ['tags', 'tags.jpg', '', '.']) {
      if (other === '.') expect(parseOutput(other).kind).toBe('folder');
      else expect(() => parseOutput(other)).toThrow(InputError);
    }
  });
});

describe.each(rolls)('a PNG of $name', (stock) => {
  it.each([203, 300, 600])(
    'at %i dpi has every module on its dots, and is the PDF to the dot',
    async (dpi) => {
      let symbolCount = 0;
      for (const symbol of SYMBOLS) {
        const sheets = await sheetsIfFit(stock, TAGS.slice(0, 2), { symbol, dpi });
        if (sheets === null) continue;
        const folder = freshFolder();
        const written = await writeSheets({ kind: 'folder', folder }, sheets, pageNames(stock, sheets), dpi);
        expect(readdirSync(folder).filter((name) => name.endsWith('.png'))).toEqual([]);
        written.putInPlace();
        written.discard();
        expect(readdirSync(folder).sort()).toEqual(['00001.12.png', 'K7FY5.1.png']);
        const pages = await rasterisePdf(sheets.pdf, dpi);
        for (const [index, file] of written.files.entries()) {
          const picture = await opened(file);
          expect(await sharp(file).metadata()).toMatchObject({ density: dpi, width: picture.width });
          expect([picture.width, picture.height]).toEqual(pageDots(stock, dpi));
          const page = pages[index];
          expect(
            Buffer.compare(
              picture.data,
              Buffer.from(page?.data.map((level) => (level < 128 ? 0 : 255)) ?? []),
            ),
          ).toBe(0);
          const placed = sheets.placed[index];
          for (const printed of placed?.symbols ?? []) {
            expectEveryModule(picture, printed, dpi, stock.faces[0]?.turn === 90);
            symbolCount++;
          }
          const texts = placed?.symbols.map(({ text }) => text).sort();
          for (const read of [readWithZxing, readWithZbar]) {
            const found = await read(padded(picture));
            expect([...new Set(found.map(({ text }) => text))]).toEqual([...new Set(texts)]);
          }
        }
      }
      expect(symbolCount).toBeGreaterThan(0);
    },
  );
});

describe('the files', () => {
  it('of copies are numbered, of sheets named by their page', async () => {
    const folder = freshFolder();
    const copies = await renderSheets(roll, TAGS.slice(0, 1), { ...PLAIN, copies: 2 });
    const written = await writeSheets({ kind: 'folder', folder }, copies, pageNames(roll, copies), 203);
    expect(written.files).toEqual([join(folder, 'K7FY5.1-1.png'), join(folder, 'K7FY5.1-2.png')]);
    written.discard();
    const sheets = await renderSheets(sheet, TAGS, { ...PLAIN, firstCell: 64 });
    const pages = await writeSheets({ kind: 'folder', folder }, sheets, pageNames(sheet, sheets), 150);
    expect(pages.files).toEqual([join(folder, 'page-1.png'), join(folder, 'page-2.png')]);
    pages.discard();
    expect(readdirSync(folder)).toEqual([]);
  });

  it('are put in place together, and taken back together', async () => {
    const folder = freshFolder();
    const labels = join(folder, 'labels');
    const sheets = await renderSheets(roll, TAGS, PLAIN);
    const written = await writeSheets(
      { kind: 'folder', folder: `${labels}/` },
      sheets,
      pageNames(roll, sheets),
      203,
    );
    written.putInPlace();
    expect(readdirSync(labels)).toHaveLength(3);
    written.takeBack();
    written.discard();
    expect(existsSync(labels)).toBe(false);
  });

  it('when one cannot be written, none is, and a folder made for them is gone', async () => {
    const folder = freshFolder();
    mkdirSync(join(folder, '00001.12.png'));
    writeFileSync(join(folder, 'K7FY5.1.png'), 'old');
    const sheets = await renderSheets(roll, TAGS, PLAIN);
    await expect(
      writeSheets({ kind: 'folder', folder }, sheets, pageNames(roll, sheets), 203),
    ).rejects.toBeInstanceOf(InputError);
    expect(readdirSync(folder).sort()).toEqual(['00001.12.png', 'K7FY5.1.png']);
    expect(readFileSync(join(folder, 'K7FY5.1.png'), 'utf8')).toBe('old');
    const deep = join(folder, 'none/labels/');
    await expect(
      writeSheets({ kind: 'folder', folder: deep }, sheets, pageNames(roll, sheets), 203),
    ).rejects.toMatchObject({
      code: 'no-such-folder',
    });
    await expect(
      writeSheets({ kind: 'png', file: join(folder, 'x.png') }, sheets, pageNames(roll, sheets), 203),
    ).rejects.toMatchObject({ code: 'several-pages', hint: expect.stringContaining('x/') });
    expect(readdirSync(folder)).toHaveLength(2);
  });
});

function pageDots({ page }: Stock, dpi: number): number[] {
  return [page.width_mm, page.height_mm].map((mm) => Math.round((mm * dpi) / 25.4));
}

/** Every pixel of the symbol has the colour of its module, as bwip-js draws it at level H with mask 6 (its 7th). */
function expectEveryModule(
  { data, width }: GrayImage,
  symbol: PlacedSymbol,
  dpi: number,
  isTurned: boolean,
): void {
  const dots = (mm: number) => Math.round((mm * dpi) / 25.4);
  const [left, top, across, down] = [
    symbol.boxMm.x,
    symbol.boxMm.y,
    symbol.boxMm.width,
    symbol.boxMm.height,
  ].map(dots) as [number, number, number, number];
  const module = dots(symbol.moduleMm);
  const isDark = darkAt(symbol, module, isTurned || across < down);
  let wrong = 0;
  for (let y = 0; y < down; y++) {
    for (let x = 0; x < across; x++) {
      if ((data[(top + y) * width + left + x] === 0) !== isDark(x, y)) wrong++;
    }
  }
  expect(wrong).toBe(0);
}

function darkAt(
  { kind, text }: PlacedSymbol,
  module: number,
  isTurned: boolean,
): (x: number, y: number) => boolean {
  if (kind === 'qr') {
    const options = { eclevel: 'H', fixedeclevel: true, version: '1', mask: 7 };
    const [drawn] = bwipjs.raw('qrcode', text, options as never);
    const { pixs, pixx } = drawn as unknown as { pixs: number[]; pixx: number };
    return (x, y) => {
      const [column, row] = [Math.floor(x / module), Math.floor(y / module)];
      return (isTurned ? pixs[(pixx - 1 - column) * pixx + row] : pixs[row * pixx + column]) === 1;
    };
  }
  const [drawn] = bwipjs.raw('code128', text, {});
  const bars = (drawn as unknown as { sbs: number[] }).sbs.flatMap((modules, index) =>
    new Array<boolean>(modules).fill(index % 2 === 0),
  );
  return (x, y) => bars[Math.floor((isTurned ? y : x) / module)] === true;
}

/** With a white margin, as a label lies on its backing. */
function padded({ data, width, height }: GrayImage): GrayImage {
  const margin = 20;
  const wide = width + 2 * margin;
  const whole = new Uint8Array(wide * (height + 2 * margin)).fill(255);
  for (let y = 0; y < height; y++) {
    whole.set(data.subarray(y * width, (y + 1) * width), (margin + y) * wide + margin);
  }
  return { data: whole, width: wide, height: height + 2 * margin };
}
