/** Rows of pieces are found where they are drawn, at any angle. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Plane } from '../../../src/scan/reading/plane.js';
import { capOf, findRows } from '../../../src/scan/reading/rows-find.js';

const [WIDTH, HEIGHT] = [220, 200];
const PIECE_WIDTH = 0.6;
const ADVANCE = 0.95;

/** Dark boxes of one height in a row about the middle, their edges soft, on light paper. */
function drawn(cap: number, angle: number, pieces: number): Plane {
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const length = (pieces - 1) * ADVANCE + PIECE_WIDTH;
  const data = Float32Array.from({ length: WIDTH * HEIGHT }, (_, at) => {
    const [dx, dy] = [(at % WIDTH) - WIDTH / 2, Math.floor(at / WIDTH) - HEIGHT / 2];
    const along = dx * cos + dy * sin + (length * cap) / 2;
    const across = Math.abs(dy * cos - dx * sin) - cap / 2;
    const within = along - ADVANCE * cap * Math.floor(along / (ADVANCE * cap));
    const isPast = along < 0 || along > length * cap;
    const beside = isPast ? 9 : Math.max(-within, within - PIECE_WIDTH * cap);
    const ink = Math.min(1, Math.max(0, 0.5 - Math.max(across, beside)));
    return 210 - 160 * ink;
  });
  return { data, width: WIDTH, height: HEIGHT };
}

/** How far two directions differ, either way up, in degrees. */
function degreesApart({ x, y }: { x: number; y: number }, angle: number): number {
  const off = (((Math.atan2(y, x) - angle) * 180) / Math.PI) % 180;
  return Math.min(Math.abs(off), 180 - Math.abs(off));
}

describe('a row of dark pieces', () => {
  it('is found with its height, its length and its direction', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 9, max: 20, noNaN: true }),
        fc.double({ min: 0, max: Math.PI, noNaN: true }),
        fc.integer({ min: 3, max: 6 }),
        (cap, angle, pieces) => {
          const [row] = findRows(drawn(cap, angle, pieces));
          expect(row?.pieces).toBe(pieces);
          if (row === undefined) return;
          // Edges are seen to a pixel.
          const length = (pieces - 1) * ADVANCE + PIECE_WIDTH;
          expect(Math.abs(capOf(row) - cap)).toBeLessThan(1.5);
          expect(Math.abs(row.length * capOf(row) - length * cap)).toBeLessThan(1.5);
          expect(degreesApart(row.along, angle)).toBeLessThan(4);
          expect(row.contrast).toBeGreaterThan(60);
        },
      ),
      { seed: 20261128, numRuns: 60 },
    );
  });

  it('is found as long as an ID with its issue is, and never longer', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 9, max: 14, noNaN: true }),
        fc.double({ min: 0, max: Math.PI, noNaN: true }),
        fc.integer({ min: 9, max: 13 }),
        (cap, angle, tooMany) => {
          // Seven pieces are 6.3 heights long, nine 8.2.
          expect(findRows(drawn(cap, angle, 7)).map(({ pieces }) => pieces)).toEqual([7]);
          for (const { length } of findRows(drawn(cap, angle, tooMany))) expect(length).toBeLessThan(7.6);
        },
      ),
      { seed: 20261128, numRuns: 30 },
    );
  });

  it('is none where there are two pieces, or no picture to speak of', () => {
    expect(findRows(drawn(12, 0.4, 2))).toEqual([]);
    expect(findRows({ data: new Float32Array(1), width: 1, height: 1 })).toEqual([]);
    expect(
      findRows({ data: new Float32Array(WIDTH * HEIGHT).fill(90), width: WIDTH, height: HEIGHT }),
    ).toEqual([]);
  });
});
