import { expect, test } from 'vitest';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { tagFit } from '../../src/sheets/what-fits.js';
import { SYMBOLS, sheetsIfFit, shippedStocks, tag } from './samples.js';

test.each(shippedStocks)('of $name the symbols and modules are those that are printed', async (stock) => {
  for (const symbol of SYMBOLS) {
    const sheets = await sheetsIfFit(stock, [tag('K7FY5', 1)], { symbol });
    const printed = sheets?.placed[0]?.symbols.slice(0, symbol === 'both' ? 2 : 1);
    expect(tagFit(stock, symbol)?.symbols).toEqual(
      printed?.map(({ kind, moduleMm }) => ({ kind, moduleMm })),
    );
  }
});

test('an ID is read with ease up to 172 times the height of its capitals', () => {
  // 20 minutes of arc (ISO 9241-3): 1 m needs 5.82 mm, 0.7 m 4.07 mm.
  for (const stock of shippedStocks) {
    const { idCapMm, idReadFromM } = tagFit(stock, 'qr') ?? { idCapMm: 0, idReadFromM: 0 };
    expect(Math.abs(idCapMm / idReadFromM - 5.82)).toBeLessThan(0.6);
  }
  const stake = tagFit(loadStock('stake-a4-16x127', [shippedStocksFolder()]), 'qr');
  expect(stake?.idCapMm).toBeGreaterThan(5.82);
  expect(stake?.idReadFromM).toBeGreaterThan(1);
});
