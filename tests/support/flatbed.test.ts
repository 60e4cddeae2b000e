import sharp from 'sharp';
import { expect, test } from 'vitest';
import { copied, encodeScan, filled, PLAIN_SCAN, scanSheet, TRUE_PRINT } from './flatbed.js';
import type { RasterPage } from './rasterise.js';

/** A white page of 100 × 60 mm at 10 px/mm with a black square of 4 mm whose middle is at 20, 30 mm. */
const blank: RasterPage = {
  data: new Uint8Array(1000 * 600).fill(255),
  width: 1000,
  height: 600,
  pxPerMmX: 10,
  pxPerMmY: 10,
};
const page = filled(blank, { x: 18, y: 28, width: 4, height: 4 }, 0);

/** Half of the paper's light, as sRGB writes it. */
const HALF = 178;

/** Middle of what is darker than half the paper's light, mm of the picture. */
function darkMiddle({ data, width }: { data: Uint8Array; width: number }, dpi: number) {
  let [count, sumX, sumY] = [0, 0, 0];
  data.forEach((level, at) => {
    if (level > HALF) return;
    count++;
    sumX += (at % width) + 0.5;
    sumY += Math.floor(at / width) + 0.5;
  });
  const mm = 25.4 / dpi;
  return { x: (sumX / count) * mm, y: (sumY / count) * mm, areaMm2: count * mm * mm };
}

const BRIGHT_GLASS = { ...PLAIN_SCAN, ground: 0.9, marginMm: 5 };

test('what is printed in place is seen in place', () => {
  const found = darkMiddle(scanSheet(page, TRUE_PRINT, BRIGHT_GLASS, 1), 300);
  expect(found.x).toBeCloseTo(25, 1);
  expect(found.y).toBeCloseTo(35, 1);
  expect(found.areaMm2).toBeCloseTo(16, 0);
});

test('scale, offset, skew and turn do what they say', () => {
  const off = { ...TRUE_PRINT, scale: 0.9, offsetMm: { x: 3, y: -2 } };
  const moved = darkMiddle(scanSheet(page, off, BRIGHT_GLASS, 2), 300);
  expect(moved.x).toBeCloseTo(5 + 0.9 * 20 + 3, 1);
  expect(moved.y).toBeCloseTo(5 + 0.9 * 30 - 2, 1);
  // A quarter turn clockwise about the middle (50, 30): (20, 30) comes to (50, 0).
  for (const turned of [
    scanSheet(page, { ...TRUE_PRINT, skewDeg: 90 }, { ...BRIGHT_GLASS, marginMm: 30 }, 3),
    scanSheet(page, TRUE_PRINT, { ...BRIGHT_GLASS, turnDeg: 90, marginMm: 30 }, 3),
  ]) {
    const found = darkMiddle(turned, 300);
    expect(found.x).toBeCloseTo(30 + 50, 1);
    expect(Math.abs(found.y - 30)).toBeLessThan(2.2);
  }
});

test('reflectance is written as sRGB', () => {
  const scan = scanSheet(blank, { ...TRUE_PRINT, paper: 0.5 }, { ...PLAIN_SCAN, noise: 0, ground: 0.01 }, 4);
  // IEC 61966-2-1: half the light is level 188.
  expect(scan.data[Math.floor(scan.height / 2) * scan.width + Math.floor(scan.width / 2)]).toBe(188);
});

test('a scan is a pure function of its seed, and its file states the density', async () => {
  const scan = (seed: number) => scanSheet(page, TRUE_PRINT, { ...PLAIN_SCAN, dpi: 100 }, seed);
  expect(scan(5).data).toEqual(scan(5).data);
  expect(scan(5).data).not.toEqual(scan(6).data);
  const { density, width } = await sharp(await encodeScan(scan(5), 'png', 100)).metadata();
  expect([density, width]).toEqual([100, scan(5).width]);
});

test('a place is copied to another', () => {
  const twice = copied(page, { x: 18, y: 28, width: 4, height: 4 }, { x: 60, y: 10, width: 4, height: 4 });
  expect(twice.data[120 * 1000 + 620]).toBe(0);
  expect(twice.data[300 * 1000 + 200]).toBe(0);
});
