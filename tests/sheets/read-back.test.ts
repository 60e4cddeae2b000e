/**
 * What is printed is what is said: pages rasterised by PDFium, read by two decoders that share no code
 * with the encoder or with each other, and measured.
 */
import { describe, expect, test } from 'vitest';
import type { PlacedSymbol, PlacedTag } from '../../src/sheets/sheets.js';
import { readWithZbar, readWithZxing, type Witnessed } from '../support/decode.js';
import { type BoxMm, cutOut, type RasterPage, rasterisePdf } from '../support/rasterise.js';
import { SYMBOLS, sheetsIfFit, shippedStocks, TAGS } from './samples.js';

const RESOLUTIONS = [203, 300, 600];

/** The design's own figure for how true a place must be. */
const TOLERANCE_MM = 0.2;

/** PDFium reckons in 32-bit floats: an edge on a dot may tint its neighbour by about a hundredth. */
const ROUNDING = 3;

/** At its stock's own resolution every symbol is at least this often fitted (see the last test). */
const fitted = new Map<string, number>();

describe.each(shippedStocks)('$name', (stock) => {
  test.each(RESOLUTIONS)('reads back at %i dpi, each module edge on a dot', async (dpi) => {
    for (const symbol of SYMBOLS) {
      const sheets = await sheetsIfFit(stock, TAGS.slice(0, dpi === 600 ? 1 : 2), { symbol, dpi });
      if (sheets === null) continue;
      fitted.set(symbol, (fitted.get(symbol) ?? 0) + 1);
      const pages = await rasterisePdf(sheets.pdf, dpi);
      expect(pages).toHaveLength(sheets.pageCount);
      for (const placed of sheets.placed) {
        const page = pages[placed.page - 1] as RasterPage;
        for (const printed of placed.symbols) expectOnDots(page, printed);
        const cell = cutOut(page, within(page, placed.boxMm));
        expectAll(placed, await readWithZxing(cell), cell);
        for (const printed of placed.symbols) {
          const found = await readWithZbar(cutOut(page, withQuiet(printed)));
          expect(found.map(({ text }) => text)).toEqual([printed.text]);
        }
      }
    }
  });
});

test('most stocks hold most symbols, so the above cannot pass empty', () => {
  expect(fitted.get('qr')).toBeGreaterThanOrEqual(3 * shippedStocks.length - 6);
  expect(fitted.get('code128')).toBeGreaterThanOrEqual(2 * shippedStocks.length);
  expect(fitted.get('both')).toBeGreaterThanOrEqual(shippedStocks.length);
});

/** Every symbol of the tag was read, and QR codes where `placed` says. */
function expectAll(placed: PlacedTag, found: readonly Witnessed[], cell: RasterPage): void {
  const texts = (list: readonly { kind: string; text: string }[]) =>
    list.map(({ kind, text }) => `${kind} ${text}`).sort();
  const printed = placed.symbols;
  expect(texts(found), placed.id).toEqual(texts(printed));
  for (const symbol of printed.filter(({ kind }) => kind === 'qr')) {
    const expected = [symbol.boxMm.x - placed.boxMm.x, symbol.boxMm.y - placed.boxMm.y] as const;
    const distances = found
      .filter(({ kind }) => kind === 'qr')
      .map(({ box }) =>
        Math.max(
          Math.abs(box.x / cell.pxPerMmX - expected[0]),
          Math.abs(box.y / cell.pxPerMmY - expected[1]),
          Math.abs(box.width / cell.pxPerMmX - symbol.boxMm.width),
          Math.abs(box.height / cell.pxPerMmY - symbol.boxMm.height),
        ),
      );
    expect(Math.min(...distances), `${placed.id} ${symbol.kind}`).toBeLessThan(
      // Where a module is only two pixels wide the decoder itself cannot say it finer.
      Math.max(TOLERANCE_MM, symbol.moduleMm + 0.01),
    );
  }
}

/**
 * Of a symbol with its quiet zone every pixel is black or white, the quiet zone is white, and the dark
 * pixels begin and end exactly where the box says.
 */
function expectOnDots(page: RasterPage, symbol: PlacedSymbol): void {
  const { boxMm } = symbol;
  const whole = withQuiet(symbol);
  const picture = cutOut(page, whole);
  const dark = { left: Infinity, top: Infinity, right: -1, bottom: -1 };
  let grey = 0;
  picture.data.forEach((level, index) => {
    if (level > ROUNDING && level < 255 - ROUNDING) grey++;
    if (level > 127) return;
    const x = index % picture.width;
    const y = Math.floor(index / picture.width);
    dark.left = Math.min(dark.left, x);
    dark.right = Math.max(dark.right, x);
    dark.top = Math.min(dark.top, y);
    dark.bottom = Math.max(dark.bottom, y);
  });
  expect(grey, 'pixels neither black nor white').toBe(0);
  const px = (mm: number) => Math.round(mm * page.pxPerMmX);
  expect(dark.left).toBe(px(boxMm.x - whole.x));
  expect(dark.top).toBe(px(boxMm.y - whole.y));
  expect(dark.right - dark.left + 1).toBe(px(boxMm.width));
  expect(dark.bottom - dark.top + 1).toBe(px(boxMm.height));
}

/** A Code 128 has quiet zones at its sides only; half a millimetre is free at the bars' ends. */
function withQuiet({ kind, boxMm, quietMm }: PlacedSymbol): BoxMm {
  const end = kind === 'qr' ? quietMm : 0.4;
  const isTurned = boxMm.height > boxMm.width;
  const [x, y] = isTurned ? [end, quietMm] : [quietMm, end];
  return { x: boxMm.x - x, y: boxMm.y - y, width: boxMm.width + 2 * x, height: boxMm.height + 2 * y };
}

/** A cell that ends at the page's edge may round to a pixel beyond it. */
function within(page: RasterPage, box: BoxMm): BoxMm {
  const width = Math.min(
    box.width,
    Math.floor(page.width - Math.round(box.x * page.pxPerMmX)) / page.pxPerMmX,
  );
  const height = Math.min(
    box.height,
    Math.floor(page.height - Math.round(box.y * page.pxPerMmY)) / page.pxPerMmY,
  );
  return { ...box, width, height };
}
