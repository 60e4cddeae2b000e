/**
 * Scale, offset and place of a printed sheet, against what the simulated printer and scanner did to it.
 */
import { describe, expect, test } from 'vitest';
import type { Measured } from '../../../src/sheets/proof/examine.js';
import { encodePhoto, lone, NO_DAMAGE, photograph } from '../../support/camera.js';
import { encodeScan, PLAIN_SCAN, type Printing, scanSheet, TRUE_PRINT } from '../../support/flatbed.js';
import type { RasterPage } from '../../support/rasterise.js';
import { rasterisePdf } from '../../support/rasterise.js';
import { pagesOf, print, printed, printedSheets, proofPage } from './printed.js';

/** What issue and design ask for. */
const TOLERANCE_MM = 0.2;
/** That much at the far end of an A4 page. */
const TOLERANCE_SCALE = TOLERANCE_MM / 297;

const OFF: Printing = { ...TRUE_PRINT, scale: 0.97, offsetMm: { x: 1.5, y: -1 } };
/** Ten large labels, whose modules a coarse scan resolves. */
const LARGE = 'letter-10-102x51';
const PLAIN = { ...PLAIN_SCAN, dpi: 120 };
const ROUGH_SCAN = { ...PLAIN_SCAN, turnDeg: 0.7, uneven: 0.35, noise: 0.02 };

function expectMeasured(
  measured: Measured | null,
  { scale, offsetMm }: Pick<Printing, 'scale' | 'offsetMm'>,
) {
  expect(Math.abs((measured?.scale ?? 0) - scale)).toBeLessThan(TOLERANCE_SCALE);
  expect(Math.abs((measured?.offsetMm?.x ?? 99) - offsetMm.x)).toBeLessThan(TOLERANCE_MM);
  expect(Math.abs((measured?.offsetMm?.y ?? 99) - offsetMm.y)).toBeLessThan(TOLERANCE_MM);
}

describe('a sheet printed at 97 %, 1.5 mm right and 1 mm up, scanned 0.7° askew in uneven light', () => {
  test('as a JPEG that states no density', async () => {
    const { ledger, pages } = await printed('a4-65-38x21', 65);
    const scan = scanSheet(pages[0] as RasterPage, OFF, { ...ROUGH_SCAN, dpi: 170 }, 1);
    const page = await proofPage(ledger, await encodeScan(scan, 'jpeg', null));
    expect(page.readCount).toBe(65);
    expect(page.misplaced).toEqual([]);
    expect(page.measured?.by).toBe('paper edges');
    expectMeasured(page.measured, OFF);
    expect(page.measured?.printer.rotationDeg).toBeCloseTo(0, 1);
    // The tag at C lies at 0.97 C + offset: farthest off is the last one, at 167 and 265 mm.
    expect(page.measured?.worstShiftMm).toBeCloseTo(Math.hypot(0.03 * 167.15 - 1.5, 0.03 * 265.1 + 1), 0);
  });

  test.each([
    { stock: 'letter-10-102x51', count: 10, symbol: 'both', dpi: 140 },
    { stock: 'loop-a4-200x25', count: 9, symbol: 'qr', dpi: 150 },
    { stock: 'stake-a4-16x127', count: 22, symbol: 'code128', dpi: 250 },
    { stock: 'a4-189-25x10', count: 189, symbol: 'qr', dpi: 300 },
  ] as const)('$stock, $symbol', async ({ stock, count, symbol, dpi }) => {
    const { ledger, pages } = await printed(stock, count, { symbol });
    const scan = scanSheet(pages[0] as RasterPage, OFF, { ...ROUGH_SCAN, dpi }, 2);
    const page = await proofPage(ledger, await encodeScan(scan, 'png', dpi));
    expect(page.readCount).toBe(page.expectedCount);
    expectMeasured(page.measured, OFF);
    expect(page.measured?.printer.residualMm).toBeLessThan(0.05);
  });
});

test('a print that went in askew says by how much', async () => {
  // Tags all over the page, so that their middle, about which the print is turned, is the paper's.
  const { ledger, pages } = await printed('a4-24-64x34', 24);
  const printing = { ...TRUE_PRINT, skewDeg: -0.4 };
  const scan = scanSheet(pages[0] as RasterPage, printing, PLAIN, 3);
  const { measured } = await proofPage(ledger, await encodeScan(scan, 'png', PLAIN.dpi));
  expect(measured?.printer.rotationDeg).toBeCloseTo(-0.4, 2);
  expectMeasured(measured, TRUE_PRINT);
});

test('an upside-down and a sideways scan measure the same', async () => {
  const { ledger, pages } = await printed(LARGE, 10);
  for (const turnDeg of [180, 90]) {
    const margin = turnDeg === 90 ? 60 : 8;
    const scan = scanSheet(pages[0] as RasterPage, OFF, { ...PLAIN, turnDeg, marginMm: margin }, 4);
    const page = await proofPage(ledger, await encodeScan(scan, 'png', PLAIN.dpi));
    expect(page.readCount).toBe(10);
    expectMeasured(page.measured, OFF);
  }
});

test('printed with the correction, the same printer is true; and so it stays', async () => {
  const { ledger, pages } = await printed(LARGE, 10);
  const scan = async (page: RasterPage) =>
    encodeScan(scanSheet(page, OFF, { ...ROUGH_SCAN, dpi: 120 }, 5), 'png', 120);
  const first = await proofPage(ledger, await scan(pages[0] as RasterPage));
  const correction = first.measured?.correction;
  if (!correction) throw new Error('no correction');
  const [corrected] = await pagesOf(await print(ledger, LARGE, correction));
  const second = await proofPage(ledger, await scan(corrected as RasterPage));
  expectMeasured(second.measured, TRUE_PRINT);
  // A dot is 0.04 mm, and options are rounded to 0.01 mm.
  expect(second.measured?.worstShiftMm).toBeLessThan(TOLERANCE_MM);
  expect(second.measured?.correction?.scale).toBeCloseTo(correction.scale, 3);
  expect(second.measured?.correction?.nudgeMm.x).toBeCloseTo(correction.nudgeMm.x, 1);
  expect(second.measured?.correction?.nudgeMm.y).toBeCloseTo(correction.nudgeMm.y, 1);
});

test('one tag printed by a calibrated printer is true, and offers nothing that would spoil it', async () => {
  const { ledger } = await printed(LARGE, 10);
  const [only] = await ledger.plants({});
  const calibrated = { scale: 1 / OFF.scale, nudgeMm: { x: -1.5 / OFF.scale, y: 1 / OFF.scale } };
  const again = await print(ledger, LARGE, { isReprint: true, firstCell: 10, ...calibrated }, [
    only?.id ?? '',
  ]);
  const scan = scanSheet((await pagesOf(again))[0] as RasterPage, OFF, { ...ROUGH_SCAN, dpi: 120 }, 10);
  const page = await proofPage(ledger, await encodeScan(scan, 'png', 120));
  expect(page.readCount).toBe(1);
  expect(page.measured?.scale).toBeNull();
  expect(Math.abs(page.measured?.offsetMm?.x ?? 9)).toBeLessThan(TOLERANCE_MM);
  expect(Math.abs(page.measured?.offsetMm?.y ?? 9)).toBeLessThan(TOLERANCE_MM);
  expect(page.measured?.worstShiftMm).toBeLessThan(TOLERANCE_MM);
  expect(page.measured?.correction).toBeNull();
});

describe('photos of the whole sheet', () => {
  test.each([
    { tiltDeg: 20, rotationDeg: 95, shade: 0.3, noise: 0.02, ground: 'bench' },
    { tiltDeg: 10, rotationDeg: 180, blurPx: 0.8, ground: 'soil' },
  ] as const)('tilted by $tiltDeg°, turned by $rotationDeg°', async (damage) => {
    const { ledger, sheets } = await printedSheets('a4-24-64x34', 24);
    const [face] = await rasterisePdf(sheets.pdf, 250);
    if (face === undefined) throw new Error('no page');
    const photo = photograph(lone(face, face.pxPerMmX), { ...NO_DAMAGE, pxPerMm: 5, ...damage }, 6);
    const page = await proofPage(ledger, await encodePhoto(photo, 'jpeg'));
    expect(page.readCount).toBe(24);
    expect(page.measured?.by).toBe('paper edges');
    expectMeasured(page.measured, TRUE_PRINT);
    expect(page.measured?.worstShiftMm).toBeLessThan(TOLERANCE_MM);
  });
});

describe('without the paper edges', () => {
  test('a scan cut at the paper is taken for the page, and says so', async () => {
    const { ledger, pages } = await printed(LARGE, 10);
    for (const stated of [PLAIN.dpi, null]) {
      const scan = scanSheet(pages[0] as RasterPage, OFF, { ...PLAIN, marginMm: 0 }, 7);
      const { measured } = await proofPage(ledger, await encodeScan(scan, 'png', stated));
      expect(measured?.by).toBe('whole picture');
      expectMeasured(measured, OFF);
    }
  });

  test('white paper on a white lid has a scale by the density, no offset, no correction', async () => {
    const { ledger, pages } = await printed(LARGE, 10);
    const white = { ...PLAIN, ground: TRUE_PRINT.paper };
    const scan = scanSheet(pages[0] as RasterPage, OFF, white, 8);
    const { measured } = await proofPage(ledger, await encodeScan(scan, 'png', PLAIN.dpi));
    expect(measured?.by).toBe('density');
    expect(Math.abs((measured?.scale ?? 0) - OFF.scale)).toBeLessThan(TOLERANCE_SCALE);
    expect(measured?.offsetMm).toBeNull();
    expect(measured?.correction).toBeNull();
    const silent = await proofPage(ledger, await encodeScan(scan, 'png', null));
    expect(silent.measured).toBeNull();
    expect(silent.readCount).toBe(10);
  });

  test('a density that contradicts the print is not believed', async () => {
    const { ledger, pages } = await printed(LARGE, 10);
    const scan = scanSheet(pages[0] as RasterPage, OFF, PLAIN, 9);
    const { measured } = await proofPage(ledger, await encodeScan(scan, 'jpeg', 72));
    expect(measured?.scaleBy).toBe('paper size');
    expectMeasured(measured, OFF);
  });
});

test('a PDF is exact', async () => {
  for (const symbol of ['qr', 'code128', 'both'] as const) {
    const { ledger, sheets } = await printedSheets(LARGE, 10, {
      symbol,
      nudgeMm: { x: 1, y: -2 },
      scale: 1.01,
    });
    const page = await proofPage(ledger, sheets.pdf);
    expect(page.readCount).toBe(10);
    expect(page.measured?.scale).toBeCloseTo(1, 4);
    // Against the page as it was to be printed: that it was nudged is no error.
    expect(page.measured?.worstShiftMm).toBeLessThan(0.02);
    expect(page.measured?.correction).toBeNull();
    expect(page.grades).toEqual([]);
  }
});
