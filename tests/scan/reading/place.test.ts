/** Where a code that was read lies, and how large its modules are: by the geometry of drawn ones. */
import { describe, expect, it } from 'vitest';
import { bwipCode128, bwipQr } from '../../../src/codes/bwip.js';
import type { PhotoCode } from '../../../src/scan/photo.js';
import type { Point } from '../../../src/scan/point.js';
import { isWithin, placeOf, scaledPlace } from '../../../src/scan/reading/place.js';

const MIDDLE = { x: 400, y: 300 };

/** A rectangle about the middle, turned: clockwise from its own top left. */
function rectangle(width: number, height: number, degrees: number): [Point, Point, Point, Point] {
  const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  const corner = (u: number, v: number): Point => ({
    x: MIDDLE.x + (u * width * cos - v * height * sin) / 2,
    y: MIDDLE.y + (u * width * sin + v * height * cos) / 2,
  });
  return [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)];
}

const codeOf = (kind: 'qr' | 'code128', text: string, corners: PhotoCode['corners']): PhotoCode => ({
  kind,
  text,
  corners,
  readBy: ['zxing'],
  step: 'as taken',
});

describe.each([0, 30, 135, 200])('turned by %i°', (degrees) => {
  it('a QR code goes as far as its frame and a module beyond', () => {
    const { size } = bwipQr('K7FY5.1', { level: 'H', version: 1, mask: 6 });
    const side = 7 * size;
    const { corners, modulePx } = placeOf(codeOf('qr', 'K7FY5.1', rectangle(side, side, degrees)));
    expect(modulePx).toBeCloseTo(7, 9);
    // Frame and quiet zone are five modules wide on each side, as `qr-block` draws them.
    const outside = 7 * (size + 2 * (5 + 1));
    rectangle(outside, outside, degrees).forEach(({ x, y }, index) => {
      expect(corners[index]?.x).toBeCloseTo(x, 9);
      expect(corners[index]?.y).toBeCloseTo(y, 9);
    });
  });

  it('a Code 128 has as many modules as its bars and spaces are wide', () => {
    const modules = bwipCode128('K7FY5.1').reduce((sum, width) => sum + width, 0);
    const corners = rectangle(2.5 * modules, 60, degrees);
    const place = placeOf(codeOf('code128', 'K7FY5.1', corners));
    expect(place.modulePx).toBeCloseTo(2.5, 9);
    place.corners.forEach(({ x, y }, index) => {
      expect(x).toBeCloseTo(corners[index]?.x ?? 0, 9);
      expect(y).toBeCloseTo(corners[index]?.y ?? 0, 9);
    });
  });

  it('what lies within and what beside it is told apart, at half the size too', () => {
    const place = { corners: rectangle(200, 80, degrees), modulePx: 4 };
    const half = scaledPlace(place, 1);
    expect(half.modulePx).toBe(2);
    const at = (u: number, v: number): Point => rectangle(200 * u, 80 * v, degrees)[2];
    for (const [u, v, expected] of [
      [0, 0, true],
      [0.98, 0.97, true],
      [-0.98, 0.97, true],
      [1.02, 0, false],
      [0, -1.03, false],
      [-1.02, 1.03, false],
    ] as const) {
      const { x, y } = at(u, v);
      expect(isWithin(place, x, y)).toBe(expected);
      expect(isWithin(half, x / 2, y / 2)).toBe(expected);
    }
  });
});
