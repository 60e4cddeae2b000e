/** Sheets as they were written are sound, whatever their IDs: none is taken for slipped or of another stock. */
import { expect, test } from 'vitest';
import { isAllSound, proofFiles } from '../../../src/sheets/proof/proof.js';
import type { Stock } from '../../../src/sheets/stock.js';
import { print, printedSheets, proof, stockOf } from './printed.js';

test.each([
  { stock: 'a4-189-25x10', count: 1134, symbol: 'qr', dpi: 600 },
  { stock: 'a4-65-38x21', count: 520, symbol: 'qr', dpi: 300 },
  { stock: 'a4-24-64x34', count: 480, symbol: 'qr', dpi: 300 },
  { stock: 'stake-a4-16x127', count: 132, symbol: 'qr', dpi: 300 },
  { stock: 'loop-a4-200x25', count: 54, symbol: 'qr', dpi: 600 },
  { stock: 'hang-letter-10-89x48', count: 50, symbol: 'both', dpi: 600 },
  { stock: 'a4-65-38x21', count: 195, symbol: 'code128', dpi: 600 },
] as const)('$count tags on $stock, $symbol', async ({ stock, count, symbol, dpi }) => {
  const { ledger, sheets } = await printedSheets(stock, count, { symbol, dpi });
  const file = await proof(ledger, sheets.pdf);
  const wrong = file.pages.flatMap(({ missing, unreadable, misplaced }) => [
    ...missing,
    ...unreadable,
    ...misplaced,
  ]);
  expect(wrong.map(({ tag }) => `${tag.id}.${tag.issue}`)).toEqual([]);
  expect(file.pages.reduce((sum, { readCount }) => sum + readCount, 0)).toBe(count);
  expect(isAllSound([file])).toBe(true);
  // Where the symbols are, told by the sheet itself: what was drawn is what was found, to 0.02 mm.
  const placed = new Map(sheets.placed.map((tag) => [tag.id, tag]));
  for (const { id, symbols } of file.pages.flatMap(({ page }) => page.tags)) {
    const drawn = placed.get(id)?.symbols ?? [];
    expect(symbols).toHaveLength(drawn.length);
    for (const { boxMm } of symbols) {
      const off = drawn.map((own) => Math.hypot(own.boxMm.x - boxMm.x, own.boxMm.y - boxMm.y));
      expect(Math.min(...off)).toBeLessThan(0.02);
    }
  }
});

test('one tag printed again with a scale is known by its own sheet', async () => {
  const { ledger } = await printedSheets('a4-24-64x34', 12);
  const again = await print(ledger, 'a4-24-64x34', { isReprint: true, scale: 1.02, dpi: 600 }, ['C92JN']);
  const file = await proof(ledger, again.pdf);
  expect(file.pages.map(({ expectedCount, readCount }) => [expectedCount, readCount])).toEqual([[1, 1]]);
  expect(isAllSound([file])).toBe(true);
});

test('a stock whose cells were changed since is told by where the tags lie', async () => {
  const { ledger, sheets } = await printedSheets('a4-24-64x34', 12);
  const changed = (cells: Partial<Stock['cells']>) =>
    proofFiles(
      ledger,
      (name) => ({ ...stockOf(name), cells: { ...stockOf(name).cells, ...cells } }),
      [{ file: 'sheet', bytes: sheets.pdf }],
      () => {},
    );
  const refused = { code: 'stock-changed' };
  await expect(changed({ pitch_y_mm: 25, height_mm: 25 })).rejects.toMatchObject(refused);
  await expect(changed({ top_mm: stockOf('a4-24-64x34').cells.top_mm + 34 })).rejects.toMatchObject(refused);
  await expect(changed({})).resolves.toHaveLength(1);
});
