/** Tags as they are printed, for the damage bench: cut out of the rasterised PDF, with their symbol's place. */

import { idOfNumber } from '../../src/ids/allocation.js';
import type { TagsSince } from '../../src/scan/reading/tags-since.js';
import { renderSheets, type Tag } from '../../src/sheets/sheets.js';
import { loadStock, shippedStocksFolder } from '../../src/sheets/stock-files.js';
import { type BoxMm, cutOut, type GrayImage, rasterisePdf } from '../support/rasterise.js';

/** Stocks of five kinds: a small label, a stake, a hang tag, a thermal roll, a usual label. */
export const STOCKS = [
  'a4-65-38x21',
  'stake-a4-16x127',
  'hang-a4-9-50x90',
  'roll-203-57x32',
  'a4-21-64x38',
] as const;

/** Fine enough that the photo, not the raster, limits what is seen. */
const DPI = 450;

export interface WeatherTag {
  readonly text: string;
  readonly face: GrayImage;
  readonly facePxPerMm: number;
  readonly moduleMm: number;
  /** The symbol without its quiet zone, mm from the tag's top left. */
  readonly symbolMm: BoxMm;
}

/** Plants of a ledger of `PLANTS`, spread over all of it. */
export const PLANTS = 3000;
export const ledgerTexts = (first = 1): string[] =>
  Array.from({ length: PLANTS }, (_, index) => `${idOfNumber(first + index, 5)}.1`);

/** A ledger's tags for a `TagReader`: all at first, and none after. */
export const tagsOnce =
  (texts: readonly string[]): TagsSince =>
  async (entry) => ({ texts: entry === 0 ? [texts.join(' ')] : [], entry: 1 });

/** @param ids of the tags, if not those of plants of the ledger */
export async function printTags(
  stockName: string,
  count: number,
  ids: readonly string[] = [],
  kind: 'qr' | 'code128' = 'qr',
  issue = 1,
  origin: string | null = null,
): Promise<WeatherTag[]> {
  const stock = loadStock(stockName, [shippedStocksFolder()]);
  const tags = Array.from({ length: count }, (_, index): Tag => {
    const number = 1 + ((index * 397) % PLANTS);
    const id = ids[index] ?? idOfNumber(number, 5);
    return {
      id,
      issue,
      text: `${id}.${issue}`,
      cross: ['Aurelda × Tessa', 'Quillon Dusk × Brackwater'][index % 2] as string,
      sown: '2026-03-14',
      key: `North bench ${number}`,
      origin,
    };
  });
  const { pdf, placed } = await renderSheets(stock, tags, {
    symbol: kind,
    firstCell: 1,
    copies: 1,
    nudgeMm: { x: 0, y: 0 },
    scale: 1,
    madeAt: new Date('2026-03-14T08:00:00Z'),
  });
  const pages = await rasterisePdf(pdf, DPI);
  return placed.map(({ text, page, boxMm, symbols }) => {
    const raster = pages[page - 1];
    const symbol = symbols.find((one) => one.kind === kind);
    if (raster === undefined || symbol === undefined) throw new Error(`${text} was not drawn`);
    const { data, width, height, pxPerMmX } = cutOut(raster, boxMm);
    const { x, y } = symbol.boxMm;
    return {
      text,
      face: { data, width, height },
      facePxPerMm: pxPerMmX,
      moduleMm: symbol.moduleMm,
      symbolMm: { ...symbol.boxMm, x: x - boxMm.x, y: y - boxMm.y },
    };
  });
}
