/** The overlay is measured on its rasterised page: 300 dpi, so a dot is 0.085 mm. */
import { expect, test } from 'vitest';
import { renderStock } from '../../src/sheets/overlay.js';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { type RasterPage, rasterisePdf } from '../support/rasterise.js';
import { shippedStocks } from './samples.js';

async function draw(name: string): Promise<RasterPage> {
  const [page] = await rasterisePdf(await renderStock(loadStock(name, [shippedStocksFolder()])), 300);
  if (page === undefined) throw new Error('no page');
  return page;
}

/** Whether there is ink within a tenth of a millimetre of a place. */
function isInked(page: RasterPage, xMm: number, yMm: number): boolean {
  for (let y = Math.round((yMm - 0.1) * page.pxPerMmY); y <= Math.round((yMm + 0.1) * page.pxPerMmY); y++) {
    for (let x = Math.round((xMm - 0.1) * page.pxPerMmX); x <= Math.round((xMm + 0.1) * page.pxPerMmX); x++) {
      if ((page.data[y * page.width + x] ?? 255) < 128) return true;
    }
  }
  return false;
}

test('cells are outlined where the stock says', async () => {
  const page = await draw('a4-65-38x21');
  for (const column of [0, 1, 4]) {
    for (const row of [0, 6, 12]) {
      const x = 4.75 + 40.6 * column;
      const y = 10.7 + 21.2 * row;
      expect(isInked(page, x, y + 10), `left edge of ${row}, ${column}`).toBe(true);
      expect(isInked(page, x + 38.1, y + 10), `right edge of ${row}, ${column}`).toBe(true);
      expect(isInked(page, x + 19, y), `upper edge of ${row}, ${column}`).toBe(true);
      expect(isInked(page, x + 0.6, y + 10), 'between edge and face').toBe(false);
    }
  }
});

test('rulers have a tick each millimetre, longer at fives and tens', async () => {
  const page = await draw('a4-65-38x21');
  for (const at of [10, 50, 100, 150, 200]) {
    expect([1, 2, 3].map((depth) => isInked(page, at, depth))).toEqual([true, true, true]);
    expect([1, 2, 3].map((depth) => isInked(page, at + 5, depth))).toEqual([true, true, false]);
    // At 1 to 3 mm past a ten stands its number.
    expect([1, 2, 3].map((depth) => isInked(page, at + 7, depth))).toEqual([true, false, false]);
    expect(isInked(page, at + 0.5, 1)).toBe(false);
    expect([1, 2, 3].map((depth) => isInked(page, depth, at))).toEqual([true, true, true]);
  }
});

test.each(shippedStocks)('$name is one page of its own size, the same each time', async (stock) => {
  const pdf = await renderStock(stock);
  expect(Buffer.compare(pdf, await renderStock(stock))).toBe(0);
  const pages = await rasterisePdf(pdf, 100);
  expect(pages).toHaveLength(1);
  expect((pages[0]?.width ?? 0) / (pages[0]?.pxPerMmX ?? 1)).toBeCloseTo(stock.page.width_mm, 0);
  expect((pages[0]?.height ?? 0) / (pages[0]?.pxPerMmY ?? 1)).toBeCloseTo(stock.page.height_mm, 0);
});
