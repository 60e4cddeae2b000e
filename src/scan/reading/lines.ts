/** Pieces of one straight line, interrupted by mud or glare, joined again. */
import type { Segment } from './ridges.js';

/** A line through (x, y) in the direction (dx, dy), of length 1; distances along it count from there. */
export interface Line {
  readonly x: number;
  readonly y: number;
  readonly dx: number;
  readonly dy: number;
  /** Where it is seen: pairs of distances along it, in no order. */
  readonly pieces: readonly (readonly [number, number])[];
  /** Length seen. */
  readonly seenPx: number;
  /** As a segment's. */
  readonly strength: number;
}

/** Ends of a piece may lie this far off the line it belongs to, and this share of their distance from it more. */
const MOST_OFF_PX = 1.3;
const MOST_OFF_SHARE = 0.02;
/** Unseen stretches up to this many times what is seen are bridged. */
const MOST_GAP = 6;

/** The `most` lines that stand out most, by length and darkness. */
export function joinSegments(segments: readonly Segment[], most: number): Line[] {
  const rest = [...segments].sort((a, b) => b.length - a.length);
  const isTaken = new Uint8Array(rest.length);
  const lines: Line[] = [];
  for (let seed = 0; seed < rest.length; seed++) {
    if (isTaken[seed] === 1) continue;
    const members = [rest[seed] as Segment];
    let line = lineThrough(members);
    for (let other = seed + 1; other < rest.length; other++) {
      if (isTaken[other] === 1 || !belongs(rest[other] as Segment, line)) continue;
      isTaken[other] = 1;
      members.push(rest[other] as Segment);
      line = lineThrough(members);
    }
    lines.push(line);
  }
  return lines.sort((a, b) => b.seenPx * b.strength - a.seenPx * a.strength).slice(0, most);
}

function belongs({ x0, y0, x1, y1, length }: Segment, line: Line): boolean {
  const [start, end] = [alongOf(line, x0, y0), alongOf(line, x1, y1)];
  const [low, high] = extentOf(line);
  const gap = Math.max(0, Math.min(start, end) - high, low - Math.max(start, end));
  if (gap > MOST_GAP * Math.max(length, line.seenPx)) return false;
  const most = MOST_OFF_PX + MOST_OFF_SHARE * gap;
  return Math.abs(acrossOf(line, x0, y0)) < most && Math.abs(acrossOf(line, x1, y1)) < most;
}

export const alongOf = ({ x, y, dx, dy }: Line, px: number, py: number): number =>
  (px - x) * dx + (py - y) * dy;
export const acrossOf = ({ x, y, dx, dy }: Line, px: number, py: number): number =>
  (py - y) * dx - (px - x) * dy;

/** From where to where a line is seen, gaps included. */
export function extentOf({ pieces }: Line): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const [a, b] of pieces) [low, high] = [Math.min(low, a), Math.max(high, b)];
  return [low, high];
}

/** The principal axis of the pieces, each counted by its length. */
function lineThrough(members: readonly Segment[]): Line {
  let [weight, sumX, sumY] = [0, 0, 0];
  for (const { x0, y0, x1, y1, length } of members) {
    weight += length;
    sumX += (length * (x0 + x1)) / 2;
    sumY += (length * (y0 + y1)) / 2;
  }
  const [x, y] = [sumX / weight, sumY / weight];
  let [xx, xy, yy] = [0, 0, 0];
  for (const { x0, y0, x1, y1, length } of members) {
    // A piece's own extent, and its middle's distance: second moments of a straight piece.
    const [hx, hy, mx, my] = [(x1 - x0) / 2, (y1 - y0) / 2, (x0 + x1) / 2 - x, (y0 + y1) / 2 - y];
    xx += length * (mx * mx + (hx * hx) / 3);
    xy += length * (mx * my + (hx * hy) / 3);
    yy += length * (my * my + (hy * hy) / 3);
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  const strength = members.reduce((sum, member) => sum + member.length * member.strength, 0) / weight;
  const bare = { x, y, dx: Math.cos(angle), dy: Math.sin(angle), pieces: [], seenPx: weight, strength };
  const pieces = members.map(({ x0, y0, x1, y1 }): [number, number] => {
    const [a, b] = [alongOf(bare, x0, y0), alongOf(bare, x1, y1)];
    return a < b ? [a, b] : [b, a];
  });
  return { ...bare, pieces };
}
