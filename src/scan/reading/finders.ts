/**
 * Finder patterns (ISO/IEC 18004, 5.3.2.1), by which a tag is squared up that shows too little of its frame: first
 * their dark cores, patches of ink by themselves, then the squares around these.
 */
import { distance, type Point } from '../point.js';
import { inkOf, patchesOf } from './ink.js';
import { levelAt, type Plane } from './plane.js';

export interface Finder {
  /** Its middle, in pixels. */
  readonly at: Point;
  /** A module along its sides, in pixels: the second a quarter turn clockwise from the first. */
  readonly axes: readonly [Point, Point];
  /** Correlation of the picture with the pattern. */
  readonly likeness: number;
}

/** Modules that are looked for at a level of a picture: over more than an octave, so that each is at one level at least. */
const MODULE_PX = { least: 1.7, most: 4.5 } as const;
const CORE_MODULES = 3;
/** Seen at a slant, a core is so many times as long as wide at most. */
const MOST_RATIO = 2.6;
/** Pixels of a core, as a share of what a parallelogram with its moments has. */
const FILLED = { least: 0.85, most: 1.1 } as const;
/** A core is seen smaller than it is, since it is darkest in its middle. */
const SCALES = [1, 1.15, 1.3] as const;
const TURNS = Array.from({ length: 6 }, (_, step) => (step * Math.PI) / 12);
/** Likeness that is worth a closer look, and that of a finder pattern, a part of it hidden. */
const LEAST_ROUGH = 0.35;
const LEAST_LIKENESS = 0.6;
const MOST_FINDERS = 24;
/** Of two that lie nearer, in modules, one is a finder pattern. */
const APART = 3;
/** Steps of the climb to the place that is most alike, in modules. */
const STEPS = [0.3, 0.15, 0.08, 0.04] as const;

/** Middle, then first and second axis: x, y each, in pixels. */
type Square = Float64Array;
type SquareValues = readonly [number, number, number, number, number, number];

/** The pattern and the light modules about it, row by row; its mean is 0, the sum of its squares 1. */
const PATTERN: readonly { readonly column: number; readonly row: number; readonly shade: number }[] = (() => {
  const along = [-4, -3, -2, -1, 0, 1, 2, 3, 4];
  const cells = along.flatMap((row) =>
    along.map((column) => {
      const ring = Math.max(Math.abs(row), Math.abs(column));
      return { column, row, shade: ring === 2 || ring === 4 ? 1 : -1 };
    }),
  );
  const mean = cells.reduce((sum, { shade }) => sum + shade, 0) / cells.length;
  const norm = Math.sqrt(cells.reduce((sum, { shade }) => sum + (shade - mean) ** 2, 0));
  return cells.map((cell) => ({ ...cell, shade: (cell.shade - mean) / norm }));
})();

/** Most alike first. */
export function findersOf(plane: Plane): Finder[] {
  const found = patchesOf(inkOf(plane).ink, plane.width, plane.height)
    .flatMap((pixels) => coreOf(pixels, plane.width) ?? [])
    .flatMap((core) => finderAt(plane, core) ?? [])
    .sort((a, b) => b.likeness - a.likeness);
  const kept: Finder[] = [];
  for (const one of found) {
    if (kept.length === MOST_FINDERS) break;
    if (kept.every((other) => distance(one.at, other.at) > APART * moduleOf(one))) kept.push(one);
  }
  return kept;
}

/** The side of a square as large as a module is seen. */
const moduleOf = ({ axes: [a, b] }: Finder): number => Math.sqrt(a.x * b.y - a.y * b.x);

/** The square that a patch of ink is, but for how far it is turned; null if it is none. */
function coreOf(pixels: readonly number[], width: number): Square | null {
  const count = pixels.length;
  const most = CORE_MODULES * MODULE_PX.most;
  if (count < (CORE_MODULES * MODULE_PX.least) ** 2 / SCALES[2] ** 2 || count > most * most) return null;
  let [x, y, xx, xy, yy] = [0, 0, 0, 0, 0];
  for (const at of pixels) {
    const [px, py] = [at % width, Math.floor(at / width)];
    x += px;
    y += py;
    xx += px * px;
    xy += px * py;
    yy += py * py;
  }
  x /= count;
  y /= count;
  // A pixel is a square and no point.
  xx = xx / count - x * x + 1 / 12;
  yy = yy / count - y * y + 1 / 12;
  xy = xy / count - x * y;
  const root = Math.sqrt(xx * yy - xy * xy);
  const filled = count / (12 * root);
  const [middle, off] = [(xx + yy) / 2, Math.hypot((xx - yy) / 2, xy)];
  const isSquare = (middle + off) / (middle - off) < MOST_RATIO ** 2;
  if (!isSquare || filled < FILLED.least || filled > FILLED.most) return null;
  // The square root of the matrix of second moments takes a square of those moments to the patch.
  const scale = Math.sqrt(12) / CORE_MODULES / Math.sqrt(2 * middle + 2 * root);
  return Float64Array.of(x, y, (xx + root) * scale, xy * scale, xy * scale, (yy + root) * scale);
}

function finderAt(plane: Plane, core: Square): Finder | null {
  let best = { square: core, likeness: LEAST_ROUGH };
  for (const turn of TURNS) {
    for (const scale of SCALES) {
      const square = turned(core, turn, scale);
      const likeness = likenessOf(plane, square);
      if (likeness > best.likeness) best = { square, likeness };
    }
  }
  if (best.likeness === LEAST_ROUGH) return null;
  const { square, likeness } = climbed(plane, best.square, best.likeness);
  if (likeness < LEAST_LIKENESS) return null;
  const [x, y, ax, ay, bx, by] = square as unknown as SquareValues;
  return {
    at: { x, y },
    axes: [
      { x: ax, y: ay },
      { x: bx, y: by },
    ],
    likeness,
  };
}

function turned(core: Square, turn: number, scale: number): Square {
  const [x, y, ax, ay, bx, by] = core as unknown as SquareValues;
  const [cos, sin] = [scale * Math.cos(turn), scale * Math.sin(turn)];
  return Float64Array.of(
    x,
    y,
    cos * ax + sin * bx,
    cos * ay + sin * by,
    cos * bx - sin * ax,
    cos * by - sin * ay,
  );
}

/** Changes one value at a time as long as the picture becomes more alike. */
function climbed(plane: Plane, start: Square, likeness: number): { square: Square; likeness: number } {
  const [, , ax, ay, bx, by] = start as unknown as SquareValues;
  const modulePx = Math.sqrt(ax * by - ay * bx);
  const square = start.slice();
  let best = likeness;
  for (const step of STEPS) {
    for (let value = 0; value < square.length; value++) {
      // What an axis is off counts three times at the pattern's rim.
      const change = (value < 2 ? step : step / 3) * modulePx;
      for (const move of [change, -change]) {
        let isBetter = true;
        while (isBetter) {
          square[value] = (square[value] as number) + move;
          const now = likenessOf(plane, square);
          isBetter = now > best;
          if (isBetter) best = now;
          else square[value] = (square[value] as number) - move;
        }
      }
    }
  }
  return { square, likeness: best };
}

function likenessOf(plane: Plane, square: Square): number {
  const [x, y, ax, ay, bx, by] = square as unknown as SquareValues;
  let [sum, squares, product] = [0, 0, 0];
  for (const { column, row, shade } of PATTERN) {
    const level = levelAt(plane, x + column * ax + row * bx, y + column * ay + row * by);
    sum += level;
    squares += level * level;
    product += shade * level;
  }
  const spread = squares - (sum * sum) / PATTERN.length;
  return spread > LEAST_SPREAD ? product / Math.sqrt(spread) : 0;
}

/** A flat patch is like nothing, whatever its noise. */
const LEAST_SPREAD = 25 * PATTERN.length;
