/**
 * Where a tag's frame may lie. It begins at a corner where two lines end; then lines are looked for that
 * could be the other two sides, and where one is hidden altogether, its place is guessed.
 */
import type { Corners, Point } from '../point.js';
import { alongOf, type Line } from './lines.js';
import { flatPose, type Pose, placePoints } from './pose.js';
import { GRID } from './tag-grid.js';

/** Sides of a frame seen at a slant: at most so many times as long as their neighbours. */
const MOST_RATIO = 2.6;
const LEAST_SIDE_PX = 1.3 * GRID;
/** What is to be seen of the four sides together, of 4. */
const LEAST_SEEN = 0.8;
/** Opposite sides differ by at most this angle, neighbours by at least that. */
const MOST_OPPOSITE = Math.sin((28 * Math.PI) / 180);
const LEAST_NEIGHBOUR = Math.sin((35 * Math.PI) / 180);
/** Two lines end in a corner when both are seen this near to it. */
const CORNER_PX = 4;
/** Sides of one frame are about as dark as one another. */
const MOST_STRENGTH_RATIO = 3;
/** Lengths tried for a side whose end is hidden, as shares of its neighbour's. */
const GUESSED_RATIOS = [0.6, 0.7, 0.8, 0.9, 1, 1.12, 1.25, 1.43, 1.67];

export interface Frame {
  readonly pose: Pose;
  /** How much of the sides is seen, of 4. */
  readonly seen: number;
}

/** Two lines ending at a point, with the directions in which they are seen from there. */
interface Corner {
  readonly at: Point;
  readonly lines: readonly [Line, Line];
  readonly arms: readonly [Point, Point];
}

/** Frames, those seen best first. */
export function framesOf(lines: readonly Line[]): Frame[] {
  return cornersOf(lines)
    .flatMap((corner) => framesAt(corner, lines))
    .sort((a, b) => b.seen - a.seen);
}

const crossOf = (a: Line, b: Line): number => a.dx * b.dy - a.dy * b.dx;

const isAlike = (a: Line, b: Line): boolean =>
  a.strength < MOST_STRENGTH_RATIO * b.strength && b.strength < MOST_STRENGTH_RATIO * a.strength;

function cornersOf(lines: readonly Line[]): Corner[] {
  const corners: Corner[] = [];
  for (let a = 0; a < lines.length; a++) {
    for (let b = a + 1; b < lines.length; b++) {
      const [one, other] = [lines[a] as Line, lines[b] as Line];
      if (Math.abs(crossOf(one, other)) < LEAST_NEIGHBOUR || !isAlike(one, other)) continue;
      const at = meet(one, other);
      if (at === null) continue;
      for (const first of armsAt(one, at)) {
        for (const second of armsAt(other, at))
          corners.push({ at, lines: [one, other], arms: [first, second] });
      }
    }
  }
  return corners;
}

/** The directions in which a line is seen to go from a point on it. */
function armsAt(line: Line, at: Point): Point[] {
  const place = alongOf(line, at.x, at.y);
  const arms: Point[] = [];
  const isForward = line.pieces.some(
    ([start, end]) => Math.abs(start - place) < CORNER_PX || (start < place && end > place + CORNER_PX),
  );
  const isBackward = line.pieces.some(
    ([start, end]) => Math.abs(end - place) < CORNER_PX || (end > place && start < place - CORNER_PX),
  );
  if (isForward) arms.push({ x: line.dx, y: line.dy });
  if (isBackward) arms.push({ x: -line.dx, y: -line.dy });
  return arms;
}

interface FarSide {
  /** Null for a guessed one. */
  readonly line: Line | null;
  readonly distancePx: number;
}

function framesAt({ at, lines: [a, b], arms: [alongA, alongB] }: Corner, lines: readonly Line[]): Frame[] {
  const farFromA = farSides(a, at, alongB, lines);
  const farFromB = farSides(b, at, alongA, lines);
  const frames: Frame[] = [];
  const isSkewed = alongA.x * alongB.y - alongA.y * alongB.x < 0;
  const add = (overA: FarSide, overB: FarSide): void => {
    const ratio = overA.distancePx / overB.distancePx;
    if (ratio > MOST_RATIO || ratio < 1 / MOST_RATIO) return;
    const endOfA = overB.line === null ? moved(at, alongA, overB.distancePx) : meet(a, overB.line);
    const endOfB = overA.line === null ? moved(at, alongB, overA.distancePx) : meet(b, overA.line);
    if (endOfA === null || endOfB === null) return;
    const far = oppositeCorner(at, endOfA, endOfB, overA.line, overB.line);
    if (far === null) return;
    const corners: Corners = isSkewed ? [at, endOfB, far, endOfA] : [at, endOfA, far, endOfB];
    if (!isConvex(corners)) return;
    let seen = seenBetween(a, at, endOfA) + seenBetween(b, at, endOfB);
    if (overA.line !== null) seen += seenBetween(overA.line, endOfB, far);
    if (overB.line !== null) seen += seenBetween(overB.line, endOfA, far);
    if (seen > LEAST_SEEN) frames.push({ pose: outward(corners), seen });
  };
  const guesses = (distancePx: number): FarSide[] =>
    GUESSED_RATIOS.map((ratio) => ({ line: null, distancePx: ratio * distancePx }));
  for (const overA of farFromA) {
    for (const overB of farFromB) add(overA, overB);
    for (const guess of guesses(overA.distancePx)) add(overA, guess);
  }
  for (const overB of farFromB) for (const guess of guesses(overB.distancePx)) add(guess, overB);
  return frames;
}

/** Lines that could be the side opposite `side`, met from the corner in the direction `towards`. */
function farSides(side: Line, at: Point, towards: Point, lines: readonly Line[]): FarSide[] {
  const found: FarSide[] = [];
  const ray: Line = { ...side, x: at.x, y: at.y, dx: towards.x, dy: towards.y };
  for (const line of lines) {
    if (line === side || Math.abs(crossOf(side, line)) > MOST_OPPOSITE || !isAlike(side, line)) continue;
    const meeting = meet(ray, line);
    if (meeting === null) continue;
    const distancePx = (meeting.x - at.x) * towards.x + (meeting.y - at.y) * towards.y;
    if (distancePx >= LEAST_SIDE_PX) found.push({ line, distancePx });
  }
  return found;
}

/** Where the two far sides meet; a guessed one runs parallel to the side it is opposite to. */
function oppositeCorner(
  at: Point,
  endOfA: Point,
  endOfB: Point,
  overA: Line | null,
  overB: Line | null,
): Point | null {
  if (overA !== null && overB !== null) return meet(overA, overB);
  const [known, end, through] = overA !== null ? [overA, endOfB, endOfA] : [overB, endOfA, endOfB];
  const side = Math.hypot(end.x - at.x, end.y - at.y);
  const parallel = { x: through.x, y: through.y, dx: (end.x - at.x) / side, dy: (end.y - at.y) / side };
  return known === null ? null : meet(known, { ...known, ...parallel });
}

const moved = ({ x, y }: Point, along: Point, distance: number): Point => ({
  x: x + along.x * distance,
  y: y + along.y * distance,
});

function meet(a: Line, b: Line): Point | null {
  const cross = crossOf(a, b);
  if (Math.abs(cross) < 1e-6) return null;
  const along = ((b.x - a.x) * b.dy - (b.y - a.y) * b.dx) / cross;
  return { x: a.x + along * a.dx, y: a.y + along * a.dy };
}

/** The share of a line between two of its points that is seen. */
function seenBetween(line: Line, from: Point, to: Point): number {
  const [a, b] = [alongOf(line, from.x, from.y), alongOf(line, to.x, to.y)];
  const [low, high] = [Math.min(a, b), Math.max(a, b)];
  let seen = 0;
  for (const [start, end] of line.pieces) {
    seen += Math.max(0, Math.min(high, end) - Math.max(low, start));
  }
  return Math.min(1, seen / (high - low));
}

function isConvex(corners: Corners): boolean {
  return corners.every((corner, index) => {
    const [next, after] = [corners[(index + 1) % 4] as Point, corners[(index + 2) % 4] as Point];
    return (next.x - corner.x) * (after.y - next.y) - (next.y - corner.y) * (after.x - next.x) > 0;
  });
}

/** From the corners of the line's middle to those of its outer edge, half a module outside. */
function outward(corners: Corners): Pose {
  const reach = GRID / (GRID - 1);
  const [xs, ys] = [new Float64Array(4), new Float64Array(4)];
  const [u, v] = [
    Float64Array.of(-reach, reach, reach, -reach),
    Float64Array.of(-reach, -reach, reach, reach),
  ];
  placePoints(flatPose(corners), { u, v }, xs, ys);
  const at = (corner: number): Point => ({ x: xs[corner] as number, y: ys[corner] as number });
  return flatPose([at(0), at(1), at(2), at(3)]);
}
