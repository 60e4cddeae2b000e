/** Signs for stations: files alone, for a sign is nothing that the ledger keeps. */
import { numberedPages, type Output, writeSheets } from './output.js';
import { type Drawn, type PlacedLabel, renderLabels, type SheetOptions } from './sheets.js';
import { type Sign, SignComposer, signOf } from './sign.js';
import type { Stock } from './stock.js';

export interface SignOptions extends Omit<SheetOptions, 'symbol' | 'copies' | 'level' | 'title' | 'madeAt'> {
  readonly stock: Stock;
  readonly output: Output;
  readonly now: Date;
}

export interface PrintedSigns extends Drawn {
  readonly placed: readonly PlacedLabel<Sign>[];
  /** What was written, in the order of the pages. */
  readonly files: readonly string[];
}

export async function printSigns(stations: readonly string[], options: SignOptions): Promise<PrintedSigns> {
  const { stock, output, now, ...placing } = options;
  const signs = await renderLabels(
    stock,
    stations.map(signOf),
    stations,
    { ...placing, symbol: 'qr', copies: 1, title: `Signs on ${stock.name}`, madeAt: now },
    (typesetter, dpi) => new SignComposer(stock, dpi, typesetter),
  );
  const dpi = options.dpi ?? stock.dpi;
  const written = await writeSheets(output, signs, numberedPages(signs), dpi, options.onProgress);
  try {
    written.putInPlace();
  } finally {
    written.discard();
  }
  return { ...signs, files: written.files };
}
