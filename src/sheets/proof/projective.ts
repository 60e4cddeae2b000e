/**
 * Maps between the plane of a picture and the plane of a page, and their least-squares fits.
 *
 * A map is a 3 × 3 matrix, row by row, on homogeneous coordinates: similarity, affine map and
 * homography alike. Points of a picture are in pixels, a pixel's centre at half a pixel.
 */
import type { Point } from '../../scan/point.js';

export { distance, type Point } from '../../scan/point.js';

export type PlaneMap = readonly [number, number, number, number, number, number, number, number, number];

export interface Pair {
  readonly from: Point;
  readonly to: Point;
}

export const IDENTITY: PlaneMap = [1, 0, 0, 0, 1, 0, 0, 0, 1];

export function mapPoint([a, b, c, d, e, f, g, h, i]: PlaneMap, { x, y }: Point): Point {
  const w = g * x + h * y + i;
  return { x: (a * x + b * y + c) / w, y: (d * x + e * y + f) / w };
}

/** First `inner`, then `outer`. */
export function composed(outer: PlaneMap, inner: PlaneMap): PlaneMap {
  const [a, b, c, d, e, f, g, h, i] = outer;
  const [j, k, l, m, n, o, p, q, r] = inner;
  return [
    a * j + b * m + c * p,
    a * k + b * n + c * q,
    a * l + b * o + c * r,
    d * j + e * m + f * p,
    d * k + e * n + f * q,
    d * l + e * o + f * r,
    g * j + h * m + i * p,
    g * k + h * n + i * q,
    g * l + h * o + i * r,
  ];
}

export function inverted([a, b, c, d, e, f, g, h, i]: PlaneMap): PlaneMap {
  const [u, v, w] = [e * i - f * h, f * g - d * i, d * h - e * g];
  const determinant = a * u + b * v + c * w;
  const map = [
    u,
    c * h - b * i,
    b * f - c * e,
    v,
    a * i - c * g,
    c * d - a * f,
    w,
    b * g - a * h,
    a * e - b * d,
  ];
  return map.map((value) => value / determinant) as unknown as PlaneMap;
}

/** Turns by an angle clockwise (y points down), scales, then moves. */
export function similarity(scale: number, angleRad: number, x: number, y: number): PlaneMap {
  const [cos, sin] = [scale * Math.cos(angleRad), scale * Math.sin(angleRad)];
  return [cos, -sin, x, sin, cos, y, 0, 0, 1];
}

/** Scale, turn and move that bring the pairs nearest; null for fewer than two different points. */
export function fitSimilarity(pairs: readonly Pair[]): PlaneMap | null {
  const from = centroid(pairs.map((pair) => pair.from));
  const to = centroid(pairs.map((pair) => pair.to));
  let [dot, cross, square] = [0, 0, 0];
  for (const pair of pairs) {
    const [x, y] = [pair.from.x - from.x, pair.from.y - from.y];
    const [u, v] = [pair.to.x - to.x, pair.to.y - to.y];
    dot += x * u + y * v;
    cross += x * v - y * u;
    square += x * x + y * y;
  }
  if (square === 0) return null;
  const [cos, sin] = [dot / square, cross / square];
  return [
    cos,
    -sin,
    to.x - cos * from.x + sin * from.y,
    sin,
    cos,
    to.y - sin * from.x - cos * from.y,
    0,
    0,
    1,
  ];
}

/** Least squares of an affine map; null for fewer than three points that span the plane. */
export function fitAffine(pairs: readonly Pair[]): PlaneMap | null {
  return fitLinear(pairs, 6);
}

/** Least squares of a homography; null for fewer than four points in general position. */
export function fitHomography(pairs: readonly Pair[]): PlaneMap | null {
  return fitLinear(pairs, 8);
}

/** Direct linear transform with the last element 1, in coordinates centred and scaled for its sake. */
function fitLinear(pairs: readonly Pair[], unknowns: 6 | 8): PlaneMap | null {
  if (2 * pairs.length < unknowns) return null;
  const toUnitFrom = centring(pairs.map((pair) => pair.from));
  const toUnitTo = centring(pairs.map((pair) => pair.to));
  const equations = new NormalEquations(unknowns);
  for (const pair of pairs) {
    const { x, y } = mapPoint(toUnitFrom, pair.from);
    const { x: u, y: v } = mapPoint(toUnitTo, pair.to);
    equations.add([x, y, 1, 0, 0, 0, -u * x, -u * y].slice(0, unknowns), u);
    equations.add([0, 0, 0, x, y, 1, -v * x, -v * y].slice(0, unknowns), v);
  }
  const solution = equations.solve();
  if (solution === null) return null;
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0] = solution;
  return composed(inverted(toUnitTo), composed([a, b, c, d, e, f, g, h, 1], toUnitFrom));
}

function centring(points: readonly Point[]): PlaneMap {
  const { x, y } = centroid(points);
  const spread = Math.sqrt(
    points.reduce((sum, point) => sum + (point.x - x) ** 2 + (point.y - y) ** 2, 0) / points.length,
  );
  const scale = spread > 0 ? 1 / spread : 1;
  return [scale, 0, -scale * x, 0, scale, -scale * y, 0, 0, 1];
}

export function centroid(points: readonly Point[]): Point {
  const sum = points.reduce((a, b) => ({ x: a.x + b.x, y: a.y + b.y }), { x: 0, y: 0 });
  return { x: sum.x / points.length, y: sum.y / points.length };
}

/** Gathers the equations of a linear least-squares problem and solves it by Gaussian elimination. */
export class NormalEquations {
  readonly #matrix: Float64Array;
  readonly #width: number;

  constructor(readonly unknowns: number) {
    this.#width = unknowns + 1;
    this.#matrix = new Float64Array(unknowns * this.#width);
  }

  add(coefficients: ArrayLike<number>, value: number): void {
    for (let row = 0, at = 0; row < this.unknowns; row++) {
      const factor = coefficients[row] ?? 0;
      for (let column = 0; column < this.unknowns; column++, at++) {
        this.#matrix[at] = (this.#matrix[at] ?? 0) + factor * (coefficients[column] ?? 0);
      }
      this.#matrix[at] = (this.#matrix[at++] ?? 0) + factor * value;
    }
  }

  /** Null when the equations do not determine every unknown. */
  solve(): number[] | null {
    const rows = Array.from({ length: this.unknowns }, (_, row) =>
      Array.from(this.#matrix.subarray(row * this.#width, (row + 1) * this.#width)),
    );
    const largest = Math.max(...rows.flat().map(Math.abs));
    for (let column = 0; column < this.unknowns; column++) {
      const rest = rows.slice(column).sort((a, b) => Math.abs(b[column] ?? 0) - Math.abs(a[column] ?? 0));
      rows.splice(column, rest.length, ...rest);
      const pivot = rows[column] ?? [];
      if (!(Math.abs(pivot[column] ?? 0) > 1e-12 * largest)) return null;
      rows.forEach((row, index) => {
        if (index === column) return;
        const factor = (row[column] ?? 0) / (pivot[column] ?? 1);
        for (let at = column; at < this.#width; at++) row[at] = (row[at] ?? 0) - factor * (pivot[at] ?? 0);
      });
    }
    return rows.map((row, index) => (row[this.unknowns] ?? 0) / (row[index] ?? 1));
  }
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1
    ? (sorted[middle] ?? Number.NaN)
    : ((sorted[middle - 1] ?? Number.NaN) + (sorted[middle] ?? Number.NaN)) / 2;
}
