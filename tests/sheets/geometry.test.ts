import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  type Box,
  contains,
  largestFree,
  overlap,
  type Turn,
  turnedInto,
  turnedSize,
} from '../../src/sheets/geometry.js';

const box = (most: number) =>
  fc
    .record({
      x: fc.integer({ min: 0, max: most - 1 }),
      y: fc.integer({ min: 0, max: most - 1 }),
      width: fc.integer({ min: 1, max: most }),
      height: fc.integer({ min: 1, max: most }),
    })
    .filter(({ x, y, width, height }) => x + width <= most && y + height <= most);

/** Whether a unit square is covered by a box, the plain way. */
const covers = (b: Box, x: number, y: number) =>
  x >= b.x && x < b.x + b.width && y >= b.y && y < b.y + b.height;

test('boxes overlap when a unit square lies in both', () => {
  fc.assert(
    fc.property(box(8), box(8), (a, b) => {
      let shared = false;
      for (let x = 0; x < 8; x++) for (let y = 0; y < 8; y++) shared ||= covers(a, x, y) && covers(b, x, y);
      expect(overlap(a, b)).toBe(shared);
      expect(contains(a, b) && !overlap(a, b)).toBe(false);
    }),
    { seed: 20261125, numRuns: 500 },
  );
});

test('the largest free rectangle is free, and no larger one is', () => {
  const room = { x: 0, y: 0, width: 7, height: 7 };
  fc.assert(
    fc.property(fc.array(box(7), { maxLength: 3 }), (zones) => {
      const found = largestFree(room, zones);
      let largest = 0;
      for (let x = 0; x < 7; x++)
        for (let y = 0; y < 7; y++)
          for (let width = 1; x + width <= 7; width++)
            for (let height = 1; y + height <= 7; height++) {
              if (!zones.some((zone) => overlap(zone, { x, y, width, height })))
                largest = Math.max(largest, width * height);
            }
      expect(found === null ? 0 : found.width * found.height).toBe(largest);
      if (found !== null) expect(zones.some((zone) => overlap(zone, found))).toBe(false);
    }),
    { seed: 20261125, numRuns: 100 },
  );
});

test('four quarter turns bring a box back to where it was', () => {
  const square = { x: 0, y: 0, width: 10, height: 10 };
  fc.assert(
    fc.property(box(10), (inner) => {
      const turned = [1, 2, 3, 4].reduce((one) => turnedInto(square, 90, one), inner);
      expect(turned).toEqual(inner);
      expect(turnedInto(square, 180, inner)).toEqual(turnedInto(square, 90, turnedInto(square, 90, inner)));
      expect(turnedInto(square, 270, turnedInto(square, 90, inner))).toEqual(inner);
    }),
    { seed: 20261125 },
  );
});

test('the upper left corner of a room turned clockwise comes to lie at the upper right', () => {
  const room = { x: 5, y: 5, width: 20, height: 10 };
  expect(turnedSize({ box: room, turn: 90 })).toEqual({ width: 10, height: 20 });
  expect(turnedInto(room, 90, { x: 0, y: 0, width: 3, height: 2 })).toEqual({
    x: 23,
    y: 5,
    width: 2,
    height: 3,
  });
  for (const turn of [0, 90, 180, 270] as Turn[]) {
    const inner = { x: 1, y: 2, width: 3, height: 4 };
    expect(contains(room, turnedInto(room, turn, inner))).toBe(true);
  }
});
