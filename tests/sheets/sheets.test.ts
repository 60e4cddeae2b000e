import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { boxOf, facesMm } from '../../src/sheets/faces.js';
import { type Box, contains, overlap } from '../../src/sheets/geometry.js';
import { renderSheets, type SheetOptions } from '../../src/sheets/sheets.js';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { rasterisePdf } from '../support/rasterise.js';
import { PLAIN, SYMBOLS, sheetsIfFit, shippedStocks, TAGS, tag } from './samples.js';

const stock65 = loadStock('a4-65-38x21', [shippedStocksFolder()]);
const many = Array.from({ length: 70 }, (_, index) =>
  tag('K7FY5', index + 1, { key: `gray bench ${index}` }),
);

function render(options: Partial<SheetOptions>, tags = TAGS) {
  return renderSheets(stock65, tags, { ...PLAIN, ...options });
}

describe.each(shippedStocks)('$name', (stock) => {
  const cellCount = stock.cells.columns * stock.cells.rows;
  const tags = many.slice(0, Math.min(cellCount, 66));

  test('a full sheet stays in its cells and on its page, and nothing is printed outside the faces', async () => {
    for (const symbol of SYMBOLS) {
      const sheets = await sheetsIfFit(stock, tags, { symbol, dpi: 300 });
      if (sheets === null) continue;
      const page = { x: 0, y: 0, width: stock.page.width_mm, height: stock.page.height_mm };
      for (const [index, placed] of sheets.placed.entries()) {
        expect(contains(page, placed.boxMm, 0.1)).toBe(true);
        for (const symbol of placed.symbols) expect(contains(placed.boxMm, symbol.boxMm)).toBe(true);
        for (const other of sheets.placed.slice(index + 1)) {
          expect(placed.page === other.page && overlap(placed.boxMm, other.boxMm, 0.1)).toBe(false);
        }
      }
      const [picture] = await rasterisePdf(sheets.pdf, 300);
      if (picture === undefined) throw new Error('no page');
      const first = sheets.placed.filter(({ page }) => page === 1);
      const at = (boxes: readonly Box[], grown: number) =>
        first.flatMap(({ boxMm }) =>
          boxes.map(({ x, y, width, height }) => ({
            x: boxMm.x + x - grown,
            y: boxMm.y + y - grown,
            width: width + 2 * grown,
            height: height + 2 * grown,
          })),
        );
      const faces = facesMm(stock).map(({ box }) => box);
      // Descenders of the lowest line reach below the face, into the safe inset.
      expect(darkPixels(picture, at(faces, stock.safe_inset_mm / 2), false)).toBe(0);
      expect(darkPixels(picture, at(faces, 0), true)).toBeGreaterThan(0);
      expect(darkPixels(picture, at(stock.no_print.map(boxOf), -0.1), true)).toBe(0);
    }
  });
});

test.each(shippedStocks)('a usual tag loses none of its text on $name', async (stock) => {
  const usual = tag('K7FY5', 1, { cross: 'Aurelda × Tessa', key: 'North bench 12' });
  for (const symbol of SYMBOLS) {
    expect((await sheetsIfFit(stock, [usual], { symbol }))?.shortened ?? []).toEqual([]);
  }
});

describe('places', () => {
  test('go row by row from the first cell on, and on to further pages', async () => {
    const { placed, pageCount } = await render({ firstCell: 64 }, many.slice(0, 5));
    expect(placed.map(({ page, cell }) => [page, cell.row, cell.column])).toEqual([
      [1, 13, 4],
      [1, 13, 5],
      [2, 1, 1],
      [2, 1, 2],
      [2, 1, 3],
    ]);
    expect(pageCount).toBe(2);
  });

  test('copies come one after the other', async () => {
    const { placed } = await render({ copies: 2 });
    expect(placed.map(({ id }) => id)).toEqual(TAGS.flatMap(({ id }) => [id, id]));
  });

  test('are what the stock says, to half a dot', async () => {
    const { placed } = await render({ firstCell: 65 }, many.slice(0, 1));
    // 4.75 + 4 × 40.6 and 10.7 + 12 × 21.2.
    expect(placed[0]?.boxMm.x).toBeCloseTo(167.15, 1);
    expect(Math.abs((placed[0]?.boxMm.x ?? 0) - 167.15)).toBeLessThanOrEqual(25.4 / 600 / 2 + 0.001);
    expect(Math.abs((placed[0]?.boxMm.y ?? 0) - 265.1)).toBeLessThanOrEqual(25.4 / 600 / 2 + 0.001);
  });

  test('are scaled about the corner, then moved; modules keep their whole dots', async () => {
    const plain = await render({ firstCell: 65 }, many.slice(0, 1));
    const moved = await render(
      { firstCell: 65, nudgeMm: { x: 0.7, y: -0.4 }, scale: 1.003 },
      many.slice(0, 1),
    );
    expect(Math.abs((moved.placed[0]?.boxMm.x ?? 0) - (167.15 * 1.003 + 0.7))).toBeLessThan(0.03);
    expect(Math.abs((moved.placed[0]?.boxMm.y ?? 0) - (265.1 * 1.003 - 0.4))).toBeLessThan(0.03);
    expect(moved.placed[0]?.symbols[0]?.boxMm.width).toBe(plain.placed[0]?.symbols[0]?.boxMm.width);
    for (const dpi of [203, 300, 600]) {
      const { pdf, placed } = await render(
        { dpi, nudgeMm: { x: 0.7, y: -0.4 }, scale: 0.997 },
        many.slice(0, 65),
      );
      const [page] = await rasterisePdf(pdf, dpi);
      if (page === undefined) throw new Error('no page');
      const dots = (mm: number) => (mm * dpi) / 25.4;
      for (const { symbols } of placed) {
        for (const { boxMm, moduleMm } of symbols) {
          for (const edge of [boxMm.x, boxMm.y, moduleMm]) {
            expect(Math.abs(dots(edge) - Math.round(dots(edge)))).toBeLessThan(0.02);
          }
          // The finder's upper edge begins on this very dot.
          const x = Math.round(dots(boxMm.x + moduleMm / 2));
          const y = Math.round(dots(boxMm.y));
          expect(page.data[y * page.width + x]).toBeLessThan(4);
          expect(page.data[(y - 1) * page.width + x]).toBeGreaterThan(251);
        }
      }
    }
  });
});

describe('what is refused, with the reason', () => {
  test.each<[string, Partial<SheetOptions>]>([
    ['bad-first-cell', { firstCell: 66 }],
    ['bad-first-cell', { firstCell: 0 }],
    ['bad-first-cell', { firstCell: 1.5 }],
    ['bad-copies', { copies: 0 }],
    ['bad-dpi', { dpi: 0 }],
    ['bad-dpi', { dpi: 203.2 }],
    ['off-the-page', { scale: Number.NaN }],
    ['off-the-page', { nudgeMm: { x: -20, y: 0 } }],
    ['off-the-page', { scale: 1.2 }],
    ['symbol-does-not-fit', { symbol: 'both' }],
  ])('%s for %o', async (code, options) => {
    const error = await render(options).then(
      () => null,
      (reason: unknown) => reason,
    );
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).code).toBe(code);
    expect((error as InputError).hint).not.toBe('');
  });

  test('no tags', async () => {
    await expect(render({}, [])).rejects.toMatchObject({ code: 'no-tags' });
  });

  test('a symbol that does not fit names what would', async () => {
    await expect(render({ symbol: 'both' })).rejects.toMatchObject({
      hint: expect.stringMatching(/--symbol qr.*larger stock/),
    });
  });
});

test('a link that is too large names the level at which it would fit', async () => {
  const linked = { ...tag('K7FY5', 1), text: 'https://figs.example/K7FY5.1' };
  // 28 alphanumerics: 3-H holds 35; 2-Q 29, 2-H 20 (ISO/IEC 18004, table 7).
  await expect(render({}, [linked])).rejects.toMatchObject({
    code: 'symbol-does-not-fit',
    hint: expect.stringMatching(/level Q/),
  });
  expect((await render({ level: 'Q' }, [linked])).placed).toHaveLength(1);
});

describe('the document', () => {
  test('is the same bytes for the same date, and another for another', async () => {
    const first = await render({});
    const again = await render({});
    const later = await render({ madeAt: new Date('2026-03-15T08:00:00Z') });
    expect(Buffer.compare(first.pdf, again.pdf)).toBe(0);
    expect(Buffer.compare(first.pdf, later.pdf)).not.toBe(0);
  });

  test('has a page of whole dots', async () => {
    const { pdf } = await renderSheets(loadStock('roll-203-50x25', [shippedStocksFolder()]), TAGS, PLAIN);
    // 50 and 25 mm are 399.6 and 199.8 dots.
    const pages = await rasterisePdf(pdf, 203);
    expect(pages.map(({ width, height }) => [width, height])).toEqual([
      [400, 200],
      [400, 200],
      [400, 200],
    ]);
  });

  test('progress is told after every page', async () => {
    const told: [number, number][] = [];
    await render({ onProgress: (done, whole) => told.push([done, whole]) }, many);
    expect(told).toEqual([
      [65, 70],
      [70, 70],
    ]);
  });

  test('a link goes into the QR code in capitals, and is what `placed` says', async () => {
    const linked = { ...tag('K7FY5', 1), text: 'https://figs.example/K7FY5.1' };
    const { placed } = await renderSheets(loadStock('a4-21-64x38', [shippedStocksFolder()]), [linked], {
      ...PLAIN,
      symbol: 'both',
    });
    expect(placed[0]?.text).toBe('HTTPS://FIGS.EXAMPLE/K7FY5.1');
    expect(placed[0]?.symbols.map(({ text }) => text)).toEqual(['HTTPS://FIGS.EXAMPLE/K7FY5.1', 'K7FY5.1']);
  });
});

describe('text', () => {
  test('that does not fit is shortened and reported', async () => {
    const cross = `${'Aurelda of the Long Stone Wall behind the Mill '.repeat(6)}× Tessa`;
    const { shortened } = await render({}, [tag('K7FY5', 1, { cross, key: 'A3-07' })]);
    expect(shortened).toHaveLength(1);
    expect(shortened[0]).toMatchObject({ id: 'K7FY5', field: 'cross', full: cross });
    expect(shortened[0]?.shown).toMatch(/^Aurelda of the .*…$/);
  });

  test('accents, Cyrillic and Greek are set without loss', async () => {
    const { missingGlyphs, shortened } = await render({}, [
      tag('K7FY5', 1, { cross: 'Řehoř × Žuta', key: 'Смоква' }),
      tag('00001', 1, { cross: 'Συκιά × Nguyễn', key: 'đ ł ş ő' }),
    ]);
    expect(missingGlyphs).toEqual([]);
    expect(shortened).toEqual([]);
  });

  test('characters that no font has are named, once, with the first tag and how many', async () => {
    const { missingGlyphs } = await render({}, [
      tag('K7FY5', 1, { cross: '無 × 無', key: 'ok' }),
      tag('00001', 1, { cross: '無', key: '🌿 2' }),
    ]);
    expect(missingGlyphs).toEqual([
      { character: '無', name: 'Han character 無 (U+7121)', firstId: 'K7FY5', tagCount: 2 },
      { character: '🌿', name: 'emoji 🌿 (U+1F33F)', firstId: '00001', tagCount: 1 },
    ]);
  });
});

/** Dark pixels inside the boxes (mm), or outside all of them. */
function darkPixels(
  { data, width, height, pxPerMmX, pxPerMmY }: Awaited<ReturnType<typeof rasterisePdf>>[number],
  boxes: readonly Box[],
  isInside: boolean,
): number {
  const inside = new Uint8Array(width * height);
  for (const box of boxes) {
    const right = Math.ceil((box.x + box.width) * pxPerMmX);
    for (let y = Math.floor(box.y * pxPerMmY); y < Math.ceil((box.y + box.height) * pxPerMmY); y++) {
      inside.fill(1, y * width + Math.floor(box.x * pxPerMmX), y * width + right);
    }
  }
  let count = 0;
  for (let index = 0; index < data.length; index++)
    if ((data[index] ?? 255) < 128 && (inside[index] === 1) === isInside) count++;
  return count;
}
