import { PDFDocument } from 'pdf-lib';
import { describe, expect, it } from 'vitest';
import { cutOut, type RasterPage, rasterisePdf } from './rasterise.js';

const PT_PER_MM = 72 / 25.4;

/** A page with one black square, placed in mm from the top left. */
async function pageWithSquare(
  page: { widthMm: number; heightMm: number },
  square: { xMm: number; yMm: number; sideMm: number },
): Promise<Uint8Array> {
  const document = await PDFDocument.create();
  document.addPage([page.widthMm * PT_PER_MM, page.heightMm * PT_PER_MM]).drawRectangle({
    x: square.xMm * PT_PER_MM,
    y: (page.heightMm - square.yMm - square.sideMm) * PT_PER_MM,
    width: square.sideMm * PT_PER_MM,
    height: square.sideMm * PT_PER_MM,
  });
  document.addPage([100, 50]);
  return document.save();
}

/** Where the ink is, in mm: the mean place of the darkness. */
function inkCentreMm({ data, width, pxPerMmX, pxPerMmY }: RasterPage): {
  x: number;
  y: number;
  areaMm2: number;
} {
  let [ink, x, y] = [0, 0, 0];
  data.forEach((value, index) => {
    const dark = 1 - value / 255;
    ink += dark;
    x += dark * ((index % width) + 0.5);
    y += dark * (Math.floor(index / width) + 0.5);
  });
  return { x: x / ink / pxPerMmX, y: y / ink / pxPerMmY, areaMm2: ink / pxPerMmX / pxPerMmY };
}

describe('rasterisePdf', () => {
  it.each([150, 203, 300])(
    'puts a square far down a page of odd size within half a pixel at %d dpi',
    async (dpi) => {
      // 200.3 × 296.7 mm is no whole number of points or pixels; rounding to points moves it by 0.2 mm.
      const page = { widthMm: 200.3, heightMm: 296.7 };
      const pdf = await pageWithSquare(page, { xMm: 180, yMm: 270, sideMm: 10 });
      const [first, second] = await rasterisePdf(pdf, dpi);
      if (!first || !second) throw new Error('two pages were expected');
      const ink = inkCentreMm(first);
      // PDFium moves the edges of upright rectangles to whole pixels.
      const halfPixelMm = 25.4 / dpi / 2;
      expect(Math.abs(ink.x - 185)).toBeLessThan(halfPixelMm);
      expect(Math.abs(ink.y - 275)).toBeLessThan(halfPixelMm);
      expect(Math.abs(ink.areaMm2 - 100)).toBeLessThan(4 * 10 * halfPixelMm);
      expect(second.data.every((value) => value === 255)).toBe(true);
      expect([second.width, second.height]).toEqual([
        Math.round((100 / 72) * dpi),
        Math.round((50 / 72) * dpi),
      ]);
    },
  );

  it('cuts out a box, and refuses one that leaves the page', async () => {
    const pdf = await pageWithSquare({ widthMm: 60, heightMm: 40 }, { xMm: 20, yMm: 10, sideMm: 5 });
    const [page] = await rasterisePdf(pdf, 300);
    if (!page) throw new Error('a page was expected');
    const part = cutOut(page, { x: 15, y: 8, width: 20, height: 12 });
    const ink = inkCentreMm(part);
    // 22.5 − 15 and 12.5 − 8; the cut is at whole pixels, half a pixel is 0.042 mm.
    expect(Math.abs(ink.x - 7.5)).toBeLessThan(0.06);
    expect(Math.abs(ink.y - 4.5)).toBeLessThan(0.06);
    expect(() => cutOut(page, { x: 50, y: 0, width: 20, height: 5 })).toThrow(RangeError);
  });
});
