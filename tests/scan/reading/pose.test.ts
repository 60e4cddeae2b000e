/** Where points of the grid are seen, against facts of projective geometry. */
import { expect, it } from 'vitest';
import {
  flatPose,
  type Pose,
  placePoints,
  projectionOf,
  SLOPES,
  scaledPose,
  turnedPose,
  writeSlopes,
} from '../../../src/scan/reading/pose.js';

const CORNERS = [
  { x: 10, y: 20 },
  { x: 110, y: 30 },
  { x: 90, y: 120 },
  { x: 0, y: 100 },
] as const;

function seen(pose: Pose, points: readonly (readonly [number, number])[]): { x: number; y: number }[] {
  const [xs, ys] = [new Float64Array(points.length), new Float64Array(points.length)];
  placePoints(
    pose,
    { u: Float64Array.from(points, ([u]) => u), v: Float64Array.from(points, ([, v]) => v) },
    xs,
    ys,
  );
  return points.map((_, index) => ({ x: xs[index] as number, y: ys[index] as number }));
}

const SQUARE = [
  [-1, -1],
  [1, -1],
  [1, 1],
  [-1, 1],
] as const;

it('corners are seen at the corners, bent or not', () => {
  const bent = flatPose(CORNERS);
  bent.set([0.1, 3, -4], 8);
  for (const pose of [flatPose(CORNERS), bent]) {
    seen(pose, SQUARE).forEach(({ x, y }, corner) => {
      expect(x).toBeCloseTo(CORNERS[corner]?.x ?? Number.NaN, 9);
      expect(y).toBeCloseTo(CORNERS[corner]?.y ?? Number.NaN, 9);
    });
  }
});

it('the middle is seen where the diagonals cross', () => {
  const [{ x, y }] = seen(flatPose(CORNERS), [[0, 0]]) as [{ x: number; y: number }];
  const [a, b, c, d] = CORNERS;
  // On a line through two points, the cross product of the differences is nought.
  expect((c.x - a.x) * (y - a.y) - (c.y - a.y) * (x - a.x)).toBeCloseTo(0, 9);
  expect((d.x - b.x) * (y - b.y) - (d.y - b.y) * (x - b.x)).toBeCloseTo(0, 9);
});

it('turned clockwise once, the top left corner of the grid is seen where the top right one was', () => {
  const pose = flatPose(CORNERS);
  pose.set([0.05, 2, 1], 8);
  const turned = turnedPose(pose, 1);
  expect(seen(turned, [[-1, -1]])[0]).toMatchObject({ x: expect.closeTo(110, 9), y: expect.closeTo(30, 9) });
  // A point of the face stays where it is: (u, v) of the turned grid was (-v, u) before.
  const [before] = seen(pose, [[-0.3, 0.6]]);
  const [after] = seen(turned, [[0.6, 0.3]]);
  expect(after).toMatchObject({ x: expect.closeTo(before?.x ?? 0, 9), y: expect.closeTo(before?.y ?? 0, 9) });
  expect([...turnedPose(pose, 4)]).toEqual([...pose]);
});

it('in a picture of twice the size, a pixel at (x, y) is four about (2 x + 0.5, 2 y + 0.5)', () => {
  const [{ x, y }] = seen(scaledPose(flatPose(CORNERS), 2), [[1, 1]]) as [{ x: number; y: number }];
  expect(x).toBeCloseTo(180.5, 9);
  expect(y).toBeCloseTo(240.5, 9);
});

it('slopes say how a point moves when any value of the pose changes, as moving it a little shows', () => {
  const pose = flatPose(CORNERS);
  pose.set([0.08, 2, -1, -0.03, 1, 3], 8);
  const step = 1e-4;
  const moved = (index: number, by: number): Pose =>
    pose.map((value, at) => (at === index ? value + by : value));
  const [u, v] = [0.35, -0.6];
  const slopesAlong = (gx: number, gy: number): Float64Array => {
    const slopes = new Float64Array(SLOPES);
    writeSlopes(pose, projectionOf(pose), u, v, gx, gy, slopes);
    return slopes;
  };
  const [alongX, alongY] = [slopesAlong(1, 0), slopesAlong(0, 1)];
  for (let index = 0; index < pose.length; index++) {
    const [before, after] = [moved(index, -step), moved(index, step)];
    // Corners move a point by way of the projection; a bend by itself.
    const [from, to] = [projectionOf(before), projectionOf(after)];
    const change = (slopes: Float64Array): number =>
      index < 8
        ? from.reduce((sum, value, at) => sum + (slopes[at] ?? 0) * ((to[at] ?? 0) - value), 0) / (2 * step)
        : (slopes[index] ?? Number.NaN);
    const [[a], [b]] = [seen(before, [[u, v]]), seen(after, [[u, v]])];
    expect(change(alongX)).toBeCloseTo(((b?.x ?? 0) - (a?.x ?? 0)) / (2 * step), 5);
    expect(change(alongY)).toBeCloseTo(((b?.y ?? 0) - (a?.y ?? 0)) / (2 * step), 5);
  }
});
