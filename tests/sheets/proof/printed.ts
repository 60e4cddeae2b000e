/** Tags printed into a ledger of their own, and what `proofFiles` finds in pictures of them. */
import { join } from 'node:path';
import type { Ledger } from '../../../src/ledger/ledger.js';
import { type Printed, type PrintOptions, printTags } from '../../../src/sheets/print.js';
import type { PageProof } from '../../../src/sheets/proof/examine.js';
import { type FileProof, proofFiles } from '../../../src/sheets/proof/proof.js';
import { loadStock, shippedStocksFolder } from '../../../src/sheets/stock-files.js';
import { freshFolder, ledgerWith, NOON, seedling } from '../../support/ledger.js';
import { type RasterPage, rasterisePdf } from '../../support/rasterise.js';

export const stockOf = (name: string) => loadStock(name, [shippedStocksFolder()]);

/** Prints tags for all plants of a ledger. */
export async function print(
  ledger: Ledger,
  stock: string,
  options: Partial<PrintOptions> = {},
  ids?: readonly string[],
): Promise<Printed> {
  const plants = await ledger.plants({});
  return printTags(ledger, ids === undefined ? plants : plants.filter(({ id }) => ids.includes(id)), {
    stock: stockOf(stock),
    output: { kind: 'pdf', file: join(freshFolder(), 'tags.pdf') },
    link: null,
    isReprint: false,
    by: 'wren',
    now: NOON(),
    symbol: 'qr',
    firstCell: 1,
    copies: 1,
    nudgeMm: { x: 0, y: 0 },
    scale: 1,
    ...options,
  });
}

/** A new ledger with so many plants, and a tag printed for each. */
export async function printedSheets(stock: string, count: number, options: Partial<PrintOptions> = {}) {
  const plants = Array.from({ length: count }, (_, index) =>
    seedling(`North ${index + 1}`, { seedParent: 'Aurora', pollenParent: 'Tessa', sown: '2026-03-14' }),
  );
  const { ledger } = await ledgerWith(plants);
  return { ledger, sheets: await print(ledger, stock, options) };
}

/** The same with pictures of the pages. */
export async function printed(stock: string, count: number, options: Partial<PrintOptions> = {}) {
  const { ledger, sheets } = await printedSheets(stock, count, options);
  return { ledger, sheets, pages: await pagesOf(sheets) };
}

/** As fine as the finest scan of them, and at least twice as fine as most. */
export const pagesOf = (sheets: Printed): Promise<RasterPage[]> => rasterisePdf(sheets.pdf, 300);

export async function proof(ledger: Ledger, bytes: Uint8Array): Promise<FileProof> {
  const [file] = await proofFiles(ledger, stockOf, [{ file: 'sheet', bytes }], () => {});
  if (file === undefined) throw new Error('no proof');
  return file;
}

export async function proofPage(ledger: Ledger, bytes: Uint8Array): Promise<PageProof> {
  const { pages } = await proof(ledger, bytes);
  if (pages[0] === undefined || pages.length > 1) throw new Error(`${pages.length} pages`);
  return pages[0];
}

/** IDs in the order of the report. */
export const ids = (list: readonly { readonly tag: { readonly id: string } }[]): string[] =>
  list.map(({ tag }) => tag.id);
