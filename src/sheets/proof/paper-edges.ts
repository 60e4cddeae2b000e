/**
 * The edges of a sheet of paper that is brighter than what it lies on: first roughly, as the largest
 * bright patch of a small copy of the picture, then each edge on its own to a tenth of a pixel.
 */
import type { GrayPicture } from '../../scan/picture.js';
import { median, type Point } from './projective.js';
import { levelAt } from './sampling.js';

/** Clockwise, in pixels. */
export type Quad = readonly [Point, Point, Point, Point];

/** The small copy is no longer than this on its longer side. */
const SMALL_SIDE = 640;
/** Paper that fills less of the picture than this is no sheet that someone took a picture of. */
const LEAST_SHARE = 0.1;

/** The corners of the paper; null unless all four edges stand out from the ground. */
export function findPaper(picture: GrayPicture): Quad | null {
  const block = Math.max(1, Math.ceil(Math.max(picture.width, picture.height) / SMALL_SIDE));
  const small = shrunk(picture, block);
  const rim = largestBright(small);
  if (rim === null) return null;
  const rough = largestQuad(hull(rim));
  if (rough === null) return null;
  const onBorder = ({ x, y }: Point) => x < 2 || y < 2 || x > small.width - 2 || y > small.height - 2;
  if (rough.some((corner, index) => onBorder(corner) && onBorder(rough[(index + 1) % 4] as Point)))
    return null;
  const corners = rough.map(({ x, y }) => ({ x: x * block, y: y * block })) as unknown as Quad;
  const sides: Line[] = [];
  for (let side = 0; side < 4; side++) {
    const line = edgeLine(picture, corners[side] as Point, corners[(side + 1) % 4] as Point, 2.5 * block + 3);
    if (line === null) return null;
    sides.push(line);
  }
  return sides.map((side, index) => crossing(sides[(index + 3) % 4] as Line, side)) as unknown as Quad;
}

/** Every pixel is the mean of a block; what is left over at the right and below is dropped. */
function shrunk({ data, width, height }: GrayPicture, block: number): GrayPicture {
  const [columns, rows] = [Math.floor(width / block), Math.floor(height / block)];
  const small = new Uint8Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let sum = 0;
      for (let y = row * block; y < (row + 1) * block; y++) {
        const from = y * width + column * block;
        for (let at = from; at < from + block; at++) sum += data[at] ?? 0;
      }
      small[row * columns + column] = sum / (block * block);
    }
  }
  return { data: small, width: columns, height: rows };
}

/** Splits the levels in two so that the two kinds differ most (Otsu, 1979). */
function threshold(data: Uint8Array): number {
  const counts = new Float64Array(256);
  for (const level of data) counts[level] = (counts[level] ?? 0) + 1;
  const whole = counts.reduce((sum, count, level) => sum + count * level, 0);
  let [below, sumBelow, best, at] = [0, 0, -1, 127];
  for (let level = 0; level < 255; level++) {
    below += counts[level] ?? 0;
    sumBelow += level * (counts[level] ?? 0);
    const above = data.length - below;
    if (below === 0 || above === 0) continue;
    const between = below * above * (sumBelow / below - (whole - sumBelow) / above) ** 2;
    if (between > best) [best, at] = [between, level];
  }
  return at;
}

/** The corners of the outermost pixels, row by row, of the largest connected bright patch. */
function largestBright({ data, width, height }: GrayPicture): Point[] | null {
  const limit = threshold(data);
  const patchOf = new Int32Array(data.length);
  let [patches, largest, largestSize] = [0, 0, 0];
  const stack: number[] = [];
  for (let start = 0; start < data.length; start++) {
    if ((data[start] ?? 0) <= limit || patchOf[start] !== 0) continue;
    patches++;
    patchOf[start] = patches;
    stack.push(start);
    let size = 0;
    for (let at = stack.pop(); at !== undefined; at = stack.pop()) {
      size++;
      const x = at % width;
      for (const next of [x > 0 ? at - 1 : -1, x < width - 1 ? at + 1 : -1, at - width, at + width]) {
        if (next < 0 || next >= data.length || (data[next] ?? 0) <= limit || patchOf[next] !== 0) continue;
        patchOf[next] = patches;
        stack.push(next);
      }
    }
    if (size > largestSize) [largest, largestSize] = [patches, size];
  }
  if (largestSize < LEAST_SHARE * data.length) return null;
  const rim: Point[] = [];
  for (let y = 0; y < height; y++) {
    const row = patchOf.subarray(y * width, (y + 1) * width);
    const [first, last] = [row.indexOf(largest), row.lastIndexOf(largest)];
    if (first < 0) continue;
    for (const x of [first, last + 1]) rim.push({ x, y }, { x, y: y + 1 });
  }
  return rim;
}

/** Convex hull, clockwise on the screen (Andrew's monotone chain). */
function hull(points: readonly Point[]): Point[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  const chain = (list: readonly Point[]): Point[] => {
    const kept: Point[] = [];
    for (const point of list) {
      while (kept.length >= 2 && area(kept.at(-2) as Point, kept.at(-1) as Point, point) <= 0) kept.pop();
      kept.push(point);
    }
    return kept.slice(0, -1);
  };
  return [...chain(sorted), ...chain(sorted.reverse())];
}

/** Twice the area of a triangle, positive when it goes clockwise on the screen. */
const area = (a: Point, b: Point, c: Point): number => (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);

/** The largest quadrangle of a hull's points: for each diagonal the farthest point on either side. */
function largestQuad(points: readonly Point[]): Quad | null {
  let best: { readonly quad: Quad; readonly size: number } | null = null;
  const farthest = (a: number, b: number, from: number, to: number): { at: number; size: number } => {
    let found = { at: -1, size: 0 };
    for (let at = from; at < to; at++) {
      const size = Math.abs(area(points[a] as Point, points[b] as Point, points[at] as Point));
      if (size > found.size) found = { at, size };
    }
    return found;
  };
  for (let a = 0; a < points.length; a++) {
    for (let b = a + 2; b < points.length; b++) {
      const one = farthest(a, b, a + 1, b);
      const first = farthest(a, b, 0, a);
      const second = farthest(a, b, b + 1, points.length);
      const other = first.size > second.size ? first : second;
      if (one.at < 0 || other.at < 0 || one.size + other.size <= (best?.size ?? 0)) continue;
      const order = [a, one.at, b, other.at].sort((x, y) => x - y);
      best = { quad: order.map((at) => points[at]) as unknown as Quad, size: one.size + other.size };
    }
  }
  return best?.quad ?? null;
}

interface Line {
  readonly at: Point;
  readonly direction: Point;
}

const PROFILES = 120;
/** Levels on the two sides of an edge differ at least so much, or it is none. */
const LEAST_STEP = 12;

/**
 * The line of an edge that runs roughly from `a` to `b`, paper on its right: profiles across it, on each
 * the half-way level of the fall, then the line that most agree on.
 */
function edgeLine(picture: GrayPicture, a: Point, b: Point, reachPx: number): Line | null {
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  if (length < 40) return null;
  const along = { x: (b.x - a.x) / length, y: (b.y - a.y) / length };
  const outward = { x: along.y, y: -along.x };
  const found: { readonly t: number; readonly off: number }[] = [];
  for (let profile = 0; profile < PROFILES; profile++) {
    const t = length * (0.04 + (0.92 * (profile + 0.5)) / PROFILES);
    const at = { x: a.x + t * along.x, y: a.y + t * along.y };
    const off = fallAlong(picture, at, along, outward, reachPx);
    if (off !== null) found.push({ t, off });
  }
  if (found.length < PROFILES / 2) return null;
  const line = straightest(found);
  if (line === null) return null;
  const { start, slope } = line;
  return {
    at: { x: a.x + start * outward.x, y: a.y + start * outward.y },
    direction: { x: along.x + slope * outward.x, y: along.y + slope * outward.y },
  };
}

const STEP_PX = 0.5;
/** Over so many pixels on either side the levels are compared. */
const SIDE_PX = 4;

/** How far outward from `at` the picture falls from paper to ground; null where it does not. */
function fallAlong(
  picture: GrayPicture,
  at: Point,
  along: Point,
  outward: Point,
  reachPx: number,
): number | null {
  const count = Math.ceil((2 * (reachPx + SIDE_PX)) / STEP_PX);
  const offOf = (index: number): number => (index - count / 2) * STEP_PX;
  const levels = Array.from({ length: count + 1 }, (_, index) => {
    let sum = 0;
    for (let beside = -3; beside <= 3; beside++) {
      const x = at.x + offOf(index) * outward.x + beside * along.x;
      const y = at.y + offOf(index) * outward.y + beside * along.y;
      sum += levelAt(picture, x, y);
    }
    return sum / 7;
  });
  const side = SIDE_PX / STEP_PX;
  const mean = (from: number, to: number): number => {
    let sum = 0;
    for (let index = from; index < to; index++) sum += levels[index] ?? 0;
    return sum / (to - from);
  };
  let best = { index: -1, step: LEAST_STEP, inside: 0, outside: 0 };
  for (let index = side; index <= count - side; index++) {
    const [inside, outside] = [mean(index - side, index - 1), mean(index + 2, index + side + 1)];
    if (inside - outside > best.step) best = { index, step: inside - outside, inside, outside };
  }
  if (best.index < 0) return null;
  const half = (best.inside + best.outside) / 2;
  for (let index = best.index - side; index < best.index + side; index++) {
    const [here, next] = [levels[index] ?? 0, levels[index + 1] ?? 0];
    if (here >= half && next < half) return offOf(index) + (STEP_PX * (here - half)) / (here - next);
  }
  return null;
}

/** The line through most points, by the least median of squares over pairs, then least squares. */
function straightest(
  points: readonly { readonly t: number; readonly off: number }[],
): { readonly start: number; readonly slope: number } | null {
  let best = { start: 0, slope: 0, spread: Number.POSITIVE_INFINITY };
  const half = points.length >> 1;
  for (let first = 0; first < half; first++) {
    for (const second of [first + half, points.length - 1 - (first >> 1)]) {
      const [a, b] = [points[first], points[second]];
      if (a === undefined || b === undefined || a.t === b.t) continue;
      const slope = (b.off - a.off) / (b.t - a.t);
      const start = a.off - slope * a.t;
      const spread = median(points.map(({ t, off }) => Math.abs(off - start - slope * t)));
      if (spread < best.spread) best = { start, slope, spread };
    }
  }
  const limit = Math.max(0.5, 4 * best.spread);
  const kept = points.filter(({ t, off }) => Math.abs(off - best.start - best.slope * t) <= limit);
  if (kept.length < points.length / 2) return null;
  const meanT = kept.reduce((sum, { t }) => sum + t, 0) / kept.length;
  const meanOff = kept.reduce((sum, { off }) => sum + off, 0) / kept.length;
  const square = kept.reduce((sum, { t }) => sum + (t - meanT) ** 2, 0);
  const slope = kept.reduce((sum, { t, off }) => sum + (t - meanT) * (off - meanOff), 0) / square;
  return { start: meanOff - slope * meanT, slope };
}

function crossing(a: Line, b: Line): Point {
  const cross = a.direction.x * b.direction.y - a.direction.y * b.direction.x;
  const t = ((b.at.x - a.at.x) * b.direction.y - (b.at.y - a.at.y) * b.direction.x) / cross;
  return { x: a.at.x + t * a.direction.x, y: a.at.y + t * a.direction.y };
}
