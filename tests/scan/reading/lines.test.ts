/** Lines are found where they are drawn, at any angle, whole or in pieces. */
import { describe, expect, it } from 'vitest';
import { acrossOf, alongOf, extentOf, joinSegments, type Line } from '../../../src/scan/reading/lines.js';
import { findSegments } from '../../../src/scan/reading/ridges.js';
import { drawn, onwards, type Stroke } from './drawing.js';

const SIDE = 160;
const MIDDLE = { x: 80.3, y: 79.6 };
const LENGTH = 120;

/** Strokes on one line through the middle, from and to so many pixels along it. */
const strokesAt = (degrees: number, pieces: readonly (readonly [number, number])[]): Stroke[] =>
  pieces.map(([from, to]) => ({
    from: onwards(MIDDLE, degrees, from),
    to: onwards(MIDDLE, degrees, to),
  }));

const linesOf = (strokes: readonly Stroke[], strokePx: number): Line[] =>
  joinSegments(findSegments(drawn(SIDE, SIDE, strokes, strokePx)), 9);

function expectThrough(line: Line, { from, to }: Stroke): void {
  // A tenth of a pixel (0.08 measured); the ends within 3 pixels, since wide lines have blunt ones (2.6 measured).
  for (const { x, y } of [from, to]) expect(Math.abs(acrossOf(line, x, y))).toBeLessThan(0.15);
  const ends = [alongOf(line, from.x, from.y), alongOf(line, to.x, to.y)].sort((a, b) => a - b);
  extentOf(line).forEach((end, index) => {
    expect(Math.abs(end - (ends[index] as number))).toBeLessThan(3);
  });
}

describe.each([1.5, 2.5, 4])('a line %f pixels wide', (strokePx) => {
  it.each([0, 17, 45, 80, 90, 121, 170])('is found at %i°', (degrees) => {
    const [whole] = strokesAt(degrees, [[-LENGTH / 2, LENGTH / 2]]) as [Stroke];
    const [line, ...others] = linesOf([whole], strokePx);
    expect(others).toEqual([]);
    expectThrough(line as Line, whole);
    expect(line?.pieces).toHaveLength(1);
  });

  it.each([0, 17, 45, 80, 90, 121, 170])('is joined again at %i° where it is broken', (degrees) => {
    const pieces = [
      [-60, -30],
      [-10, 10],
      [30, 60],
    ] as const;
    const [line, ...others] = linesOf(strokesAt(degrees, pieces), strokePx);
    expect(others).toEqual([]);
    expectThrough(line as Line, strokesAt(degrees, [[-60, 60]])[0] as Stroke);
    expect(line?.pieces).toHaveLength(3);
    // 80 pixels are drawn; blunt ends take up to three from each side of each piece.
    expect(line?.seenPx).toBeGreaterThan(80 - 6 * 3);
    expect(line?.seenPx).toBeLessThan(83);
  });
});

it('lines side by side stay two, and a paper without any has none', () => {
  const [one] = strokesAt(30, [[-50, 50]]) as [Stroke];
  const beside = { from: onwards(one.from, 120, 8), to: onwards(one.to, 120, 8) };
  const lines = linesOf([one, beside], 2.5);
  expect(lines).toHaveLength(2);
  const across = acrossOf(lines[0] as Line, lines[1]?.x as number, lines[1]?.y as number);
  expect(Math.abs(across)).toBeCloseTo(8, 0);
  expect(linesOf([], 2.5)).toEqual([]);
});
