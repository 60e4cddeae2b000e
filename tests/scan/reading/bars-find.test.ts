/** Bars are found where they are drawn, at any angle. */
import { describe, expect, it } from 'vitest';
import { bwipCode128 } from '../../../src/codes/bwip.js';
import type { Point } from '../../../src/scan/point.js';
import { findStrips, type Strip } from '../../../src/scan/reading/bars-find.js';
import type { Plane } from '../../../src/scan/reading/plane.js';
import { seededRandom } from '../../support/random.js';

/** Bars and spaces as a tag has them. */
const WIDTHS = bwipCode128('K7FY5.1');
const MODULES = WIDTHS.reduce((sum, width) => sum + width, 0);
const HEIGHT_PX = 60;
const [PAPER, INK] = [200, 60];

interface Drawn {
  readonly modulePx: number;
  readonly degrees: number;
  readonly x: number;
  readonly y: number;
}

/** A point's place along the bars' row from the first on, and down from its middle. */
function placeIn(
  { modulePx, degrees, x, y }: Drawn,
  px: number,
  py: number,
): { along: number; down: number } {
  const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  const [dx, dy] = [px - x, py - y];
  return { along: dx * cos + dy * sin + (MODULES * modulePx) / 2, down: dy * cos - dx * sin };
}

/** The share of a pixel's width that bars take up. */
function inkAt(along: number, modulePx: number): number {
  let [ink, start] = [0, 0];
  WIDTHS.forEach((width, element) => {
    const end = start + width * modulePx;
    if (element % 2 === 0) ink += Math.max(0, Math.min(along + 0.5, end) - Math.max(along - 0.5, start));
    start = end;
  });
  return ink;
}

function picture(width: number, height: number, symbols: readonly Drawn[]): Plane {
  const data = Float32Array.from({ length: width * height }, (_, at) => {
    const ink = symbols.map((symbol) => {
      const { along, down } = placeIn(symbol, at % width, Math.floor(at / width));
      const within = Math.min(1, 0.5 - (Math.abs(down) - HEIGHT_PX / 2));
      return within <= 0 ? 0 : within * inkAt(along, symbol.modulePx);
    });
    return PAPER - (PAPER - INK) * Math.max(0, ...ink);
  });
  return { data, width, height };
}

/** The strip lies over the bars, all of their length in it, as exactly as blocks of eight pixels can tell. */
function expectOver({ pose, width, height }: Strip, symbol: Drawn): void {
  const corners = [0, 1, 2, 3].map((corner) =>
    placeIn(symbol, pose[2 * corner] as number, pose[2 * corner + 1] as number),
  );
  const mean = (of: (corner: { along: number; down: number }) => number): number =>
    corners.reduce((sum, corner) => sum + of(corner), 0) / 4;
  expect(Math.abs(mean(({ along }) => along) - (MODULES * symbol.modulePx) / 2)).toBeLessThan(8);
  expect(Math.abs(mean(({ down }) => down))).toBeLessThan(8);
  expect(width).toBeGreaterThan(MODULES * symbol.modulePx);
  expect(Math.abs(height - HEIGHT_PX)).toBeLessThan(16);
  const [first, second] = corners as [(typeof corners)[number], (typeof corners)[number]];
  const off = Math.atan((second.down - first.down) / (second.along - first.along)) * (180 / Math.PI);
  // Slopes between neighbouring pixels lean to the diagonal where stripes are fine: at 20° by 4.2° where modules
  // are 1.4 pixels wide, and by 2.0° where they are 3, measured.
  expect(Math.abs(off)).toBeLessThan(symbol.modulePx < 3 ? 4.5 : 2.5);
}

describe.each([1.4, 2, 3, 4.2])('bars with modules of %f pixels', (modulePx) => {
  it.each([0, 20, 45, 90, 170])('are found at %i°', (degrees) => {
    const side = Math.ceil(MODULES * modulePx + 60);
    const symbol = { modulePx, degrees, x: side / 2 + 3, y: side / 2 - 2 };
    const [strip, ...others] = findStrips(picture(side, side, [symbol]));
    expect(others).toEqual([]);
    expectOver(strip as Strip, symbol);
  });
});

it.each([-5e-4, 5e-4])(
  'where bars fan out, turned by %f radians a pixel, the ends lean as they do',
  (turn) => {
    const symbol = { modulePx: 3, degrees: 0, x: 200, y: 60 };
    // All bars point to one place: at a distance down they lie nearer or farther from the middle by as large a share.
    const data = Float32Array.from({ length: 400 * 120 }, (_, at) => {
      const [dx, dy] = [(at % 400) - symbol.x, Math.floor(at / 400) - symbol.y];
      const along = dx / (1 - turn * dy) + (MODULES * symbol.modulePx) / 2;
      return Math.abs(dy) > HEIGHT_PX / 2 ? PAPER : PAPER - (PAPER - INK) * inkAt(along, symbol.modulePx);
    });
    const [strip] = findStrips({ data, width: 400, height: 120 });
    const [topLeft, topRight, bottomRight, bottomLeft] = [0, 1, 2, 3].map((corner) => ({
      x: (strip?.pose[2 * corner] as number) - symbol.x,
      y: strip?.pose[2 * corner + 1] as number,
    })) as [Point, Point, Point, Point];
    for (const [top, bottom] of [
      [topLeft, bottomLeft],
      [topRight, bottomRight],
    ] as const) {
      const lean = (top.x - bottom.x) / (bottom.y - top.y);
      const expected = (turn * (top.x + bottom.x)) / 2;
      expect(lean / expected).toBeCloseTo(1, 1);
    }
  },
);

describe('of several patches of bars', () => {
  const one = { modulePx: 2, degrees: 0, x: 150, y: 60 };
  const other = { modulePx: 2, degrees: 60, x: 150, y: 260 };

  it('two symbols are found as two', () => {
    const strips = findStrips(picture(300, 400, [one, other]));
    expect(strips).toHaveLength(2);
    const isHigher = (strip: Strip): boolean =>
      Math.max(strip.pose[1] as number, strip.pose[3] as number) < 120;
    expectOver(strips.find(isHigher) as Strip, one);
    expectOver(strips.find((strip) => !isHigher(strip)) as Strip, other);
  });

  it('one symbol with mud across its middle is found as one', () => {
    const { data, width, height } = picture(300, 120, [one]);
    const muddy = data.map((level, at) => (Math.abs((at % width) - one.x) < 40 ? 120 : level));
    const [strip, ...others] = findStrips({ data: muddy, width, height });
    expect(others).toEqual([]);
    expectOver(strip as Strip, one);
  });
});

it('none are found on paper, at the edge of a label, or in noise', () => {
  const random = seededRandom(7);
  const shade = (of: (x: number, y: number) => number): Plane => ({
    data: Float32Array.from({ length: 200 * 160 }, (_, at) => of(at % 200, Math.floor(at / 200))),
    width: 200,
    height: 160,
  });
  expect(findStrips(shade(() => PAPER))).toEqual([]);
  expect(findStrips(shade((x, y) => (x + 0.3 * y < 120 ? PAPER : INK)))).toEqual([]);
  expect(findStrips(shade(() => 128 + 40 * random.normal()))).toEqual([]);
});
