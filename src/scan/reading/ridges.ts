/**
 * Thin dark lines in a picture, such as a tag's frame: points where the level is lowest across some
 * direction (Steger, "An unbiased detector of curvilinear structures", 1998), grown into straight pieces.
 */
import { type Plane, smoothed } from './plane.js';

/** A straight piece of a line, in pixels. */
export interface Segment {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
  readonly length: number;
  /** Mean second derivative across it: how dark the line is against what is beside it. */
  readonly strength: number;
}

/** Suits lines of one and a half to four pixels. */
const SIGMA_PX = 1.2;
/** Least second derivative across a line, in levels a squared pixel. */
const LEAST_CURVATURE = 0.7;
/** Points with a weaker line than this share of the picture's pixels are left out. */
const MOST_POINTS_SHARE = 0.09;
/** Along a line the level is to change less than this share of the change across. */
const MOST_ALONG = 0.6;
/** A line's middle is looked for within this far of a pixel's centre. */
const MOST_OFFSET_PX = 0.7;
const MOST_TURN_COS = Math.cos((22 * Math.PI) / 180);
const LEAST_LENGTH_PX = 7;
const MOST_DEVIATION_PX = 0.9;

interface RidgePoints {
  /** Second derivative across the line; 0 where there is none. */
  readonly strength: Float32Array;
  /** Direction of the line, and how far its middle lies from the pixel's. */
  readonly alongX: Float32Array;
  readonly alongY: Float32Array;
  readonly offsetX: Float32Array;
  readonly offsetY: Float32Array;
}

export function findSegments(plane: Plane): Segment[] {
  const points = ridgePoints(smoothed(plane, SIGMA_PX));
  const { strength } = points;
  const order = strongest(strength);
  const isFree = new Uint8Array(strength.length);
  for (const at of order) isFree[at] = 1;
  const segments: Segment[] = [];
  for (const seed of order) {
    if (isFree[seed] === 0) continue;
    const segment = fitted(grown(seed, points, isFree, plane.width), points, plane.width);
    if (segment !== null) segments.push(segment);
  }
  return segments;
}

/** Buckets by strength: a rough order without sorting. */
const BUCKETS = 64;

/** The points of the strongest lines, the strongest first, roughly. */
function strongest(strength: Float32Array): number[] {
  const sorted = strength.filter((value) => value > 0).sort();
  const least = sorted[Math.max(0, sorted.length - Math.ceil(MOST_POINTS_SHARE * strength.length))] ?? 0;
  const most = sorted.at(-1) ?? 0;
  const buckets = Array.from({ length: BUCKETS }, (): number[] => []);
  for (let at = 0; at < strength.length; at++) {
    const value = strength[at] as number;
    if (value === 0 || value < least) continue;
    const bucket = Math.floor((BUCKETS - 1) * (1 - (value - least) / Math.max(1e-9, most - least)));
    (buckets[bucket] as number[]).push(at);
  }
  return buckets.flat();
}

function ridgePoints({ data, width, height }: Plane): RidgePoints {
  const make = () => new Float32Array(data.length);
  const points = {
    strength: make(),
    alongX: make(),
    alongY: make(),
    offsetX: make(),
    offsetY: make(),
  };
  for (let y = 1; y < height - 1; y++) {
    for (let x = 1, at = y * width + 1; x < width - 1; x++, at++) {
      const centre = data[at] as number;
      const [west, east] = [data[at - 1] as number, data[at + 1] as number];
      const [north, south] = [data[at - width] as number, data[at + width] as number];
      const xx = west + east - 2 * centre;
      const yy = north + south - 2 * centre;
      if (xx + yy < LEAST_CURVATURE) continue;
      const xy =
        ((data[at + width + 1] as number) -
          (data[at + width - 1] as number) -
          (data[at - width + 1] as number) +
          (data[at - width - 1] as number)) /
        4;
      const half = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy);
      const across = (xx + yy) / 2 + half;
      const along = (xx + yy) / 2 - half;
      if (across < LEAST_CURVATURE || Math.abs(along) > MOST_ALONG * across) continue;
      // The direction across is that of the larger second derivative.
      let [nx, ny] = Math.abs(across - xx) > Math.abs(across - yy) ? [xy, across - xx] : [across - yy, xy];
      const norm = Math.hypot(nx, ny);
      if (norm === 0) continue;
      [nx, ny] = [nx / norm, ny / norm];
      const offset = -(((east - west) / 2) * nx + ((south - north) / 2) * ny) / across;
      if (Math.abs(offset) > MOST_OFFSET_PX) continue;
      points.strength[at] = across;
      points.alongX[at] = -ny;
      points.alongY[at] = nx;
      points.offsetX[at] = offset * nx;
      points.offsetY[at] = offset * ny;
    }
  }
  return points;
}

/** The points that go on from `seed` in much the same direction; they are no longer free. */
function grown(seed: number, { alongX, alongY }: RidgePoints, isFree: Uint8Array, width: number): number[] {
  const region = [seed];
  isFree[seed] = 0;
  let [dx, dy] = [alongX[seed] as number, alongY[seed] as number];
  for (let next = 0; next < region.length; next++) {
    const from = region[next] as number;
    for (const step of [-width - 1, -width, -width + 1, -1, 1, width - 1, width, width + 1]) {
      const at = from + step;
      if (isFree[at] !== 1) continue;
      const [ax, ay] = [alongX[at] as number, alongY[at] as number];
      const dot = ax * dx + ay * dy;
      const norm = Math.hypot(dx, dy);
      if (Math.abs(dot) < MOST_TURN_COS * norm) continue;
      const sign = dot < 0 ? -1 : 1;
      [dx, dy] = [dx + sign * ax, dy + sign * ay];
      isFree[at] = 0;
      region.push(at);
    }
  }
  return region;
}

/** The straight piece that the points lie on; null if they are few or lie on none. */
function fitted(region: readonly number[], points: RidgePoints, width: number): Segment | null {
  if (region.length < LEAST_LENGTH_PX) return null;
  const xs = region.map((at) => (at % width) + (points.offsetX[at] as number));
  const ys = region.map((at) => Math.floor(at / width) + (points.offsetY[at] as number));
  const count = region.length;
  const meanX = xs.reduce((sum, x) => sum + x, 0) / count;
  const meanY = ys.reduce((sum, y) => sum + y, 0) / count;
  let [xx, xy, yy] = [0, 0, 0];
  for (let index = 0; index < count; index++) {
    const [dx, dy] = [(xs[index] as number) - meanX, (ys[index] as number) - meanY];
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  let [least, most, deviation] = [0, 0, 0];
  for (let index = 0; index < count; index++) {
    const [dx, dy] = [(xs[index] as number) - meanX, (ys[index] as number) - meanY];
    const along = dx * cos + dy * sin;
    least = Math.min(least, along);
    most = Math.max(most, along);
    deviation += (dy * cos - dx * sin) ** 2;
  }
  const length = most - least;
  if (length < LEAST_LENGTH_PX || Math.sqrt(deviation / count) > MOST_DEVIATION_PX + length / 60) return null;
  return {
    x0: meanX + least * cos,
    y0: meanY + least * sin,
    x1: meanX + most * cos,
    y1: meanY + most * sin,
    length,
    strength: region.reduce((sum, at) => sum + (points.strength[at] as number), 0) / count,
  };
}
