/**
 * Where a row of large characters may stand in a picture, with no symbol to tell: dark pieces of one height in
 * a line, as capitals and digits are. Which way is up is not known yet.
 */
import type { Point } from '../point.js';
import { inkOf, patchesOf } from './ink.js';
import type { Plane } from './plane.js';

/** A row of pieces as it is seen, in pixels. */
export interface PieceRow {
  /** The upper left corner of the first piece that is seen, if the row is read along `along`. */
  readonly origin: Point;
  /** A step along the row, and one down it, each as long as the capitals are high. */
  readonly along: Point;
  readonly down: Point;
  /** From the first piece to the last, in heights of capitals. */
  readonly length: number;
  /** How many pieces are seen. */
  readonly pieces: number;
  /** How far its pieces' edges are off straight lines, in heights of capitals: root mean square. */
  readonly uneven: number;
  /** Of paper and ink, in grey levels. */
  readonly contrast: number;
}

/** Heights of capitals that are looked for at a level of a picture: over more than two octaves, so that most are at two levels. */
const CAP_PX = { least: 7, most: 32 } as const;
const LEAST_PIXELS = 6;
/** Heights of pieces in a row differ by this factor at most. */
const MOST_RATIO = 1.3;
/** Neighbours' middles lie so far apart, in heights: narrow ones touching, and one covered between two wide ones. */
const APART = { least: 0.35, most: 2.3 } as const;
/** Middles lie so far off the line at most, in heights: those of some characters are high or low in them. */
const OFF_LINE = 0.3;
/** Least pieces to tell a row by. */
const LEAST_PIECES = 3;
/** A longer row is no ID, even with its issue; of one, no more than an end is looked at. */
const MOST_LENGTH = 7.5;
const MOST_ROWS = 10;
const MOST_UNEVEN = 0.14;

/** A connected patch of ink. */
interface Piece {
  readonly x: number;
  readonly y: number;
  /** Its outline: the pixels that may lie outermost in any direction. */
  readonly rim: readonly Point[];
  readonly level: number;
}

/** The rows with most pieces first, where they are even; any two share a piece at most. */
export function findRows(plane: Plane): PieceRow[] {
  const { ink, paper } = inkOf(plane);
  const pieces = piecesOf(plane, ink);
  const rows: { row: PieceRow; members: ReadonlySet<Piece> }[] = [];
  for (const members of linesOf(pieces)) {
    const row = measured(members, paper, plane.width);
    if (row !== null) rows.push({ row, members: new Set(members) });
  }
  rows.sort((a, b) => worthOf(b.row) - worthOf(a.row));
  const kept: typeof rows = [];
  for (const one of rows) {
    if (kept.length === MOST_ROWS) break;
    const isNew = kept.every(
      ({ members }) => [...one.members].filter((piece) => members.has(piece)).length < 2,
    );
    if (isNew) kept.push(one);
  }
  return kept.map(({ row }) => row);
}

/** Gravel makes long rows, but no even ones. */
const worthOf = ({ pieces, uneven }: PieceRow): number => pieces * (1 - uneven / MOST_UNEVEN) ** 2;

export const capOf = ({ down }: PieceRow): number => Math.hypot(down.x, down.y);

/** Patches of ink that may be characters by their size. */
function piecesOf({ data, width, height }: Plane, ink: Uint8Array): Piece[] {
  return patchesOf(ink, width, height).flatMap((pixels) => pieceOf(pixels, data, width) ?? []);
}

function pieceOf(pixels: readonly number[], data: Float32Array, width: number): Piece | null {
  if (pixels.length < LEAST_PIXELS || pixels.length > 2 * CAP_PX.most ** 2) return null;
  const rows = new Map<number, { from: number; to: number }>();
  let [sumX, sumY, sum] = [0, 0, 0];
  for (const at of pixels) {
    const [x, y] = [at % width, Math.floor(at / width)];
    const row = rows.get(y);
    if (row === undefined) rows.set(y, { from: x, to: x });
    else rows.set(y, { from: Math.min(row.from, x), to: Math.max(row.to, x) });
    sumX += x;
    sumY += y;
    sum += data[at] as number;
  }
  const rim = [...rows].flatMap(([y, { from, to }]) => [
    { x: from, y },
    { x: to, y },
  ]);
  const [x, y] = [sumX / pixels.length, sumY / pixels.length];
  const reach = Math.max(...rim.map((point) => Math.hypot(point.x - x, point.y - y)));
  if (reach < CAP_PX.least / 2 || reach > CAP_PX.most) return null;
  return { x, y, rim, level: sum / pixels.length };
}

/** All lines of pieces of one height that are neighbours, through any two of them; each once. */
function linesOf(pieces: readonly Piece[]): Piece[][] {
  const lines = new Map<string, Piece[]>();
  const nearby = nearbyOf(pieces);
  for (const one of pieces) {
    const around = nearby(one);
    for (const other of around) {
      const apart = Math.hypot(other.x - one.x, other.y - one.y);
      if (apart > APART.most * CAP_PX.most || apart < APART.least * CAP_PX.least) continue;
      const along = { x: (other.x - one.x) / apart, y: (other.y - one.y) / apart };
      const height = heightOf(one, along);
      const isPair =
        isAsHigh(other, along, height) &&
        height >= CAP_PX.least &&
        height <= CAP_PX.most &&
        apart >= APART.least * height &&
        apart <= APART.most * height;
      if (!isPair) continue;
      const line = around.filter((piece) => {
        const [x, y] = [piece.x - one.x, piece.y - one.y];
        return (
          Math.abs(y * along.x - x * along.y) < OFF_LINE * height &&
          Math.abs(x * along.x + y * along.y) < MOST_LENGTH * height &&
          isAsHigh(piece, along, height)
        );
      });
      const row = unbroken(line, one, along, height);
      if (row.length >= LEAST_PIECES) lines.set(row.map(({ x, y }) => `${x} ${y}`).join(), row);
    }
  }
  return [...lines.values()];
}

/** For a piece, all that may lie in one row with it, itself too: of gravel there are thousands elsewhere. */
function nearbyOf(pieces: readonly Piece[]): (piece: Piece) => Piece[] {
  const side = MOST_LENGTH * CAP_PX.most;
  const cells = new Map<string, Piece[]>();
  const cellOf = ({ x, y }: Piece): [number, number] => [Math.floor(x / side), Math.floor(y / side)];
  for (const piece of pieces) {
    const key = cellOf(piece).join();
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [piece]);
    else cell.push(piece);
  }
  return (piece) => {
    const [column, row] = cellOf(piece);
    return [-1, 0, 1].flatMap((down) =>
      [-1, 0, 1].flatMap((right) => cells.get([column + right, row + down].join()) ?? []),
    );
  };
}

const isAsHigh = (piece: Piece, along: Point, height: number): boolean =>
  Math.abs(Math.log(heightOf(piece, along) / height)) < Math.log(MOST_RATIO);

/** Those of a line that are joined to one of them by neighbours, in their order. */
function unbroken(line: readonly Piece[], one: Piece, along: Point, height: number): Piece[] {
  const at = (piece: Piece): number => (piece.x - one.x) * along.x + (piece.y - one.y) * along.y;
  const sorted = [...line].sort((a, b) => at(a) - at(b));
  const own = sorted.indexOf(one);
  const isNear = (index: number): boolean =>
    at(sorted[index + 1] as Piece) - at(sorted[index] as Piece) < APART.most * height;
  let [first, last] = [own, own];
  while (first > 0 && isNear(first - 1)) first--;
  while (last + 1 < sorted.length && isNear(last)) last++;
  return sorted.slice(first, last + 1);
}

/** From edge to edge across a direction. */
function heightOf({ rim }: Piece, along: Point): number {
  const { least, most } = extent(rim, { x: -along.y, y: along.x });
  return most - least + 1;
}

function extent(rim: readonly Point[], towards: Point): { least: number; most: number } {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { x, y } of rim) {
    const far = x * towards.x + y * towards.y;
    least = Math.min(least, far);
    most = Math.max(most, far);
  }
  return { least, most };
}

/** The row between the upper and the lower edges of its pieces; null if it is too long or uneven. */
function measured(members: readonly Piece[], paper: Float32Array, width: number): PieceRow | null {
  const [first, last] = [members[0] as Piece, members.at(-1) as Piece];
  let along = unit({ x: last.x - first.x, y: last.y - first.y });
  let top: Line = { middle: 0, slope: 0, off: 0 };
  let bottom = top;
  for (let round = 0; round < 2; round++) {
    const across = { x: -along.y, y: along.x };
    const edges = members.map(({ x, y, rim }) => ({ at: x * along.x + y * along.y, ...extent(rim, across) }));
    top = lineThrough(edges.map(({ at, least }) => ({ at, value: least - 0.5 })));
    bottom = lineThrough(edges.map(({ at, most }) => ({ at, value: most + 0.5 })));
    const slope = (top.slope + bottom.slope) / 2;
    if (round === 1 || Math.abs(slope) > 0.3) break;
    along = unit({ x: along.x + slope * across.x, y: along.y + slope * across.y });
  }
  const across = { x: -along.y, y: along.x };
  const cap = bottom.middle - top.middle;
  const ends = members.map(({ rim }) => extent(rim, along));
  const from = Math.min(...ends.map(({ least }) => least)) - 0.5;
  const length = (Math.max(...ends.map(({ most }) => most)) + 0.5 - from) / cap;
  const uneven = Math.hypot(top.off, bottom.off) / Math.SQRT2 / cap;
  const isRow = cap >= CAP_PX.least && cap <= CAP_PX.most && length <= MOST_LENGTH && uneven < MOST_UNEVEN;
  if (!isRow) return null;
  const contrast =
    members.reduce((sum, { x, y, level }) => {
      return sum + (paper[Math.round(y) * width + Math.round(x)] as number) - level;
    }, 0) / members.length;
  return {
    origin: { x: from * along.x + top.middle * across.x, y: from * along.y + top.middle * across.y },
    along: { x: cap * along.x, y: cap * along.y },
    down: { x: cap * across.x, y: cap * across.y },
    length,
    pieces: members.length,
    uneven,
    contrast: Math.max(1, contrast),
  };
}

const unit = ({ x, y }: Point): Point => ({ x: x / Math.hypot(x, y), y: y / Math.hypot(x, y) });

/** The value in the middle, its slope, and how far the points are off it (root mean square). */
interface Line {
  readonly middle: number;
  readonly slope: number;
  readonly off: number;
}

/** By least squares. */
function lineThrough(points: readonly { readonly at: number; readonly value: number }[]): Line {
  const mean = (of: (point: (typeof points)[number]) => number): number =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const [at, middle] = [mean((point) => point.at), mean((point) => point.value)];
  const square = mean((point) => (point.at - at) ** 2);
  const slope = square > 0 ? mean((point) => (point.at - at) * (point.value - middle)) / square : 0;
  const off = Math.sqrt(mean((point) => (point.value - middle - slope * (point.at - at)) ** 2));
  return { middle, slope, off };
}
