/** Frames are found where their lines are drawn, turned and seen at a slant. */
import { describe, expect, it } from 'vitest';
import type { Point } from '../../../src/scan/point.js';
import { type Frame, framesOf } from '../../../src/scan/reading/frames.js';
import { joinSegments } from '../../../src/scan/reading/lines.js';
import { flatPose, type Pose, placePoints } from '../../../src/scan/reading/pose.js';
import { findSegments } from '../../../src/scan/reading/ridges.js';
import { GRID } from '../../../src/scan/reading/tag-grid.js';
import { drawn, onwards, type Stroke } from './drawing.js';

const SIDE = 220;
const MODULE_PX = 4;

/** A frame's outer corners, its right side smaller by a share as it is turned away. */
function frameAt(degrees: number, slant: number): Pose {
  const corner = (u: number, v: number): Point => {
    const half = (GRID * MODULE_PX) / 2 / (1 + slant * u);
    return onwards(onwards({ x: 110, y: 110 }, degrees, half * u), degrees + 90, half * v);
  };
  return flatPose([corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)]);
}

/** Its line is a module wide, so that the line's middle lies half a module inside. */
function strokesOf(pose: Pose): [Stroke, Stroke, Stroke, Stroke] {
  const inside = (GRID - 1) / GRID;
  const [xs, ys] = [new Float64Array(4), new Float64Array(4)];
  const u = Float64Array.of(-inside, inside, inside, -inside);
  const v = Float64Array.of(-inside, -inside, inside, inside);
  placePoints(pose, { u, v }, xs, ys);
  const corner = (index: number): Point => ({ x: xs[index % 4] as number, y: ys[index % 4] as number });
  const side = (index: number): Stroke => ({ from: corner(index), to: corner(index + 1) });
  return [side(0), side(1), side(2), side(3)];
}

const framesIn = (strokes: readonly Stroke[]): Frame[] =>
  framesOf(joinSegments(findSegments(drawn(SIDE, SIDE, strokes, MODULE_PX)), 24));

/** How far the corner that is farthest off lies from where it was drawn, whichever is the first. */
function offBy(pose: Pose, expected: Pose): number {
  const turns = [0, 1, 2, 3].map((turn) => {
    const offs = [0, 1, 2, 3].map((corner) => {
      const [at, to] = [2 * corner, 2 * ((corner + turn) % 4)];
      return Math.hypot(
        (pose[at] as number) - (expected[to] as number),
        (pose[at + 1] as number) - (expected[to + 1] as number),
      );
    });
    return Math.max(...offs);
  });
  return Math.min(...turns);
}

describe.each([0, 10, 33, 45, 77])('turned by %i°', (degrees) => {
  it.each([0, 0.08, 0.15])('a frame slanted by %f is what is seen best', (slant) => {
    const pose = frameAt(degrees, slant);
    const whole = framesIn(strokesOf(pose)).filter(({ seen }) => seen > 3.5);
    expect(whole.length).toBeGreaterThan(0);
    // Less than a tenth of a pixel, measured.
    for (const frame of whole) expect(offBy(frame.pose, pose)).toBeLessThan(0.15);
  });

  it('a frame is guessed from three of its sides, one of them seen half', () => {
    const pose = frameAt(degrees, 0);
    const [top, right, bottom] = strokesOf(pose);
    const half = {
      from: bottom.from,
      to: { x: (bottom.from.x + bottom.to.x) / 2, y: (bottom.from.y + bottom.to.y) / 2 },
    };
    for (const strokes of [
      [top, right, bottom],
      [top, right, half],
    ]) {
      const offs = framesIn(strokes).map((frame) => offBy(frame.pose, pose));
      expect(Math.min(...offs)).toBeLessThan(0.15);
    }
  });
});

it('two lines side by side make no frame, nor do those that meet nowhere', () => {
  const [top, right, bottom] = strokesOf(frameAt(20, 0));
  expect(framesIn([top, bottom])).toEqual([]);
  const middle = ({ from, to }: Stroke): Stroke => ({
    from: { x: 0.7 * from.x + 0.3 * to.x, y: 0.7 * from.y + 0.3 * to.y },
    to: { x: 0.3 * from.x + 0.7 * to.x, y: 0.3 * from.y + 0.7 * to.y },
  });
  expect(framesIn([top, right, bottom].map(middle))).toEqual([]);
});
