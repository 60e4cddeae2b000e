import { expect, test } from 'vitest';
import { Composer } from '../../src/sheets/compose.js';
import { facesDots } from '../../src/sheets/faces.js';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { CAP_EM, Typesetter } from '../../src/sheets/typesetter.js';
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

test('a QR code is no larger than reads at ease, and its text is large with what that leaves', async () => {
  for (const stock of shippedStocks) {
    const [qr] = tagFit(stock, 'qr')?.symbols ?? [];
    const dotMm = 25.4 / stock.dpi;
    expect(qr?.moduleMm).toBeLessThan(Math.max(0.9, stock.least_module_mm.qr) + dotMm);
  }
  const stock = loadStock('hang-a4-9-50x90', [shippedStocksFolder()]);
  const cross = 'Black Lantern of the Old Wall × Late Orchard Seedling by the North Gate 14';
  const [face] = facesDots(stock, stock.dpi);
  if (face === undefined) throw new Error('no face');
  const composer = new Composer(stock, 'qr', stock.dpi, 'H', await Typesetter.open([cross]));
  const { texts, shortened } = composer.compose(tag('K7FY5', 1, { cross, key: 'North bench 12' }), face);
  expect(shortened).toEqual([]);
  const lines = texts.filter(({ text }) => cross.includes(text));
  expect(lines.length).toBeGreaterThan(1);
  // Capitals of 16 minutes of arc (ISO 9241-3) at 0.4 m, a tag in the hand.
  const leastCapMm = 400 * Math.tan(((16 / 60) * Math.PI) / 180);
  for (const { sizeDots } of lines) {
    expect((CAP_EM * sizeDots * 25.4) / stock.dpi).toBeGreaterThan(leastCapMm);
  }
});
