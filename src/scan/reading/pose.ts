/**
 * How a tag's grid lies in a picture: where the frame's corners are seen, and how far the face between
 * them bulges, as it does round a pot.
 */
import type { Point } from '../point.js';

/**
 * Pixel coordinates of the frame's outer corners, clockwise from the grid's top left (x, y; eight
 * values); then for a face bent along its rows three values, and three for one bent along its columns:
 * how much longer the middle is seen than the ends (a share), and how far it is moved (x, y in pixels).
 */
export type Pose = Float64Array;

export const POSE_SIZE = 14;

/** The values of a pose that a fit may change. */
export const FLAT: readonly number[] = [0, 1, 2, 3, 4, 5, 6, 7];
export const BENT_ALONG_ROWS: readonly number[] = [...FLAT, 8, 9, 10];
export const BENT_ALONG_COLUMNS: readonly number[] = [...FLAT, 11, 12, 13];

/** A face round half its own width is stretched by a tenth; such are few, and none is pressed together. */
const USUAL_STRETCH = 0.05;

/** What a pose loses in score for being bent as few faces are. */
export function bendPenalty(pose: Pose): number {
  let penalty = 0;
  for (const index of [8, 11]) {
    const stretch = pose[index] as number;
    penalty += 0.5 * (stretch / (stretch < 0 ? USUAL_STRETCH / 5 : USUAL_STRETCH)) ** 2;
  }
  return PENALTY_WEIGHT * penalty;
}

/** The score counts neighbouring points as if they were independent, so the prior has to weigh more. */
const PENALTY_WEIGHT = 4;

export function flatPose(corners: readonly [Point, Point, Point, Point]): Pose {
  const pose = new Float64Array(POSE_SIZE);
  corners.forEach(({ x, y }, corner) => {
    pose[2 * corner] = x;
    pose[2 * corner + 1] = y;
  });
  return pose;
}

/** The same place with the grid turned clockwise in it. */
export function turnedPose(pose: Pose, quarterTurns: number): Pose {
  const turned = pose.slice();
  for (let corner = 0; corner < 4; corner++) {
    // The grid's top left comes to lie where its top right was.
    const from = (corner + quarterTurns) % 4;
    turned[2 * corner] = pose[2 * from] as number;
    turned[2 * corner + 1] = pose[2 * from + 1] as number;
  }
  if (quarterTurns % 2 === 1) {
    turned.set(pose.subarray(8, 11), 11);
    turned.set(pose.subarray(11, 14), 8);
  }
  return turned;
}

/** The same place in a picture of `scale` times the size. */
export function scaledPose(pose: Pose, scale: number): Pose {
  const scaled = pose.slice();
  for (let index = 0; index < 8; index++) scaled[index] = ((pose[index] as number) + 0.5) * scale - 0.5;
  for (const index of [9, 10, 12, 13]) scaled[index] = (pose[index] as number) * scale;
  return scaled;
}

/** Points of the grid, from -1 at the frame's outer edge to 1 at the opposite one. */
export interface GridPoints {
  readonly u: Float64Array;
  readonly v: Float64Array;
}

/**
 * a to h of the map of the unit square onto the corners: x = (a s + b t + c) / (g s + h t + 1), and
 * y = (d s + e t + f) / (g s + h t + 1).
 */
export type Projection = readonly [
  a: number,
  b: number,
  c: number,
  d: number,
  e: number,
  f: number,
  g: number,
  h: number,
];

/** Heckbert, "Fundamentals of Texture Mapping and Image Warping", 1989, section 2.2.3. */
export function projectionOf(pose: Pose): Projection {
  const [x0, y0, x1, y1, x2, y2, x3, y3] = pose as unknown as PoseValues;
  const [dx1, dy1, dx2, dy2] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [sx, sy] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3];
  const determinant = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / determinant;
  const h = (dx1 * sy - sx * dy1) / determinant;
  return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h];
}

type PoseValues = readonly [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

/** Writes the pixels at which the points are seen into `xs` and `ys`. */
export function placePoints(pose: Pose, { u, v }: GridPoints, xs: Float64Array, ys: Float64Array): void {
  const [, , , , , , , , kU, dxU, dyU, kV, dxV, dyV] = pose as unknown as PoseValues;
  const [a, b, c, d, e, f, g, h] = projectionOf(pose);
  for (let index = 0; index < u.length; index++) {
    const [pu, pv] = [u[index] as number, v[index] as number];
    const [bulgeU, bulgeV] = [1 - pu * pu, 1 - pv * pv];
    const s = 0.5 + 0.5 * (pu + kU * pu * bulgeU);
    const t = 0.5 + 0.5 * (pv + kV * pv * bulgeV);
    const depth = 1 / (g * s + h * t + 1);
    xs[index] = (a * s + b * t + c) * depth + dxU * bulgeU + dxV * bulgeV;
    ys[index] = (d * s + e * t + f) * depth + dyU * bulgeU + dyV * bulgeV;
  }
}

/** So many slopes has a point: of the eight values of the projection, then of the pose's six bends. */
export const SLOPES = 14;

/**
 * Writes how the level seen at a point of the grid changes with each of those values.
 * @param gx how the level changes from pixel to pixel there, along x; `gy` along y
 */
export function writeSlopes(
  pose: Pose,
  [a, b, c, d, e, f, g, h]: Projection,
  pu: number,
  pv: number,
  gx: number,
  gy: number,
  slopes: Float64Array,
): void {
  const [bulgeU, bulgeV] = [1 - pu * pu, 1 - pv * pv];
  const s = 0.5 + 0.5 * (pu + (pose[8] as number) * pu * bulgeU);
  const t = 0.5 + 0.5 * (pv + (pose[11] as number) * pv * bulgeV);
  const depth = 1 / (g * s + h * t + 1);
  const [nearX, nearY] = [gx * depth, gy * depth];
  const away = -depth * (nearX * (a * s + b * t + c) + nearY * (d * s + e * t + f));
  slopes[0] = nearX * s;
  slopes[1] = nearX * t;
  slopes[2] = nearX;
  slopes[3] = nearY * s;
  slopes[4] = nearY * t;
  slopes[5] = nearY;
  slopes[6] = away * s;
  slopes[7] = away * t;
  slopes[8] = (nearX * a + nearY * d + away * g) * 0.5 * pu * bulgeU;
  slopes[9] = gx * bulgeU;
  slopes[10] = gy * bulgeU;
  slopes[11] = (nearX * b + nearY * e + away * h) * 0.5 * pv * bulgeV;
  slopes[12] = gx * bulgeV;
  slopes[13] = gy * bulgeV;
}

/** Between the frame's corners. */
export function middleOf(pose: Pose): Point {
  const mean = (first: number): number =>
    ((pose[first] as number) +
      (pose[first + 2] as number) +
      (pose[first + 4] as number) +
      (pose[first + 6] as number)) /
    4;
  return { x: mean(0), y: mean(1) };
}

/** Mean length of the frame's sides over the cells along one: pixels a module. */
export function modulePx(pose: Pose, cellsAlong: number): number {
  let around = 0;
  for (let corner = 0; corner < 4; corner++) {
    const next = (corner + 1) % 4;
    around += Math.hypot(
      (pose[2 * next] as number) - (pose[2 * corner] as number),
      (pose[2 * next + 1] as number) - (pose[2 * corner + 1] as number),
    );
  }
  return around / 4 / cellsAlong;
}
