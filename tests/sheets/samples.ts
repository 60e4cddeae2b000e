import { InputError } from '../../src/errors.js';
import { renderSheets, type SheetOptions, type Sheets, type Tag } from '../../src/sheets/sheets.js';
import type { Stock } from '../../src/sheets/stock.js';
import { listStocks, loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';

export const SYMBOLS = ['qr', 'code128', 'both'] as const;

export const shippedStocks: readonly Stock[] = listStocks([shippedStocksFolder()]).map(({ name }) =>
  loadStock(name, [shippedStocksFolder()]),
);

export const PLAIN: SheetOptions = {
  symbol: 'qr',
  firstCell: 1,
  copies: 1,
  nudgeMm: { x: 0, y: 0 },
  scale: 1,
  madeAt: new Date('2026-03-14T08:00:00Z'),
};

/** Sound IDs, of invented parents. */
export const TAGS: readonly Tag[] = [
  tag('K7FY5', 1, { cross: 'Aurelda × Tessa', key: 'North bench 12' }),
  tag('00001', 12, { cross: 'Black Lantern × Old Orchard 14', key: 'A3-07' }),
  tag('ZZZ7R', 3, { origin: 'K7FY5', key: 'A3-08' }),
];

export function tag(id: string, issue: number, fields: Partial<Tag> = {}): Tag {
  const text = `${id}.${issue}`;
  return { id, issue, text, cross: null, sown: '2026-03-14', key: null, origin: null, ...fields };
}

/** The sheets, or null where the stock cannot hold the symbol at this resolution. */
export async function sheetsIfFit(
  stock: Stock,
  tags: readonly Tag[],
  options: Partial<SheetOptions>,
): Promise<Sheets | null> {
  try {
    return await renderSheets(stock, tags, { ...PLAIN, ...options });
  } catch (error) {
    if (error instanceof InputError && error.code === 'symbol-does-not-fit') return null;
    throw error;
  }
}
