/**
 * Where bars may stand in a picture: patches of parallel stripes, found by the gradients in small blocks,
 * and what lies in a row with them.
 */
import { type Plane, smoothed } from './plane.js';
import { flatPose, type Pose } from './pose.js';

/** Pixels along a side of a block. */
const BLOCK = 8;
/** Squared grey levels a pixel by which gradients across the stripes have to outweigh those along them. */
const LEAST_ENERGY = 4;
/** The same as a share of both together. */
const LEAST_COHERENCE = 0.55;
/** Stripes whose directions differ by less belong together; those of neighbouring blocks by less still. */
const SAME_DIRECTION = (14 * Math.PI) / 180;
const NEIGHBOUR_DIRECTION = (10 * Math.PI) / 180;
/** Blocks so near each other are neighbours. */
const NEAR = 2;
const LEAST_BLOCKS = 5;
/** Of the two blocks to each side across the stripes, at least so many show the same stripes. */
const LEAST_BESIDE = 2;
const MOST_STRIPS = 3;
/** Blocks in line with a patch belong to it up to this many pixels above and below it. */
const BESIDE_PX = 40;
/** Bars are looked for up to so many times the length seen beyond both ends, but not beyond this. */
const HIDDEN_SHARE = 1.2;
const MOST_LENGTH_PX = 560;
const LEAST_BEYOND_PX = 50;
/** Bars are at most some fifty modules high. */
const MOST_HEIGHT_PX = 220;
/** Most that the direction of the bars turns along a strip, radians a pixel. */
const MOST_TURN = 0.25 / 300;

/** A part of a picture in which bars stand upright, in a row from left to right or from right to left. */
export interface Strip {
  /** Where it lies in the picture; only its corners. */
  readonly pose: Pose;
  readonly width: number;
  readonly height: number;
}

interface Block {
  readonly column: number;
  readonly row: number;
  /** Of the gradient, across the stripes; modulo π. */
  readonly direction: number;
  readonly weight: number;
}

/** The strips with most stripes first. Bars are found whose modules are 1.4 to 4.2 pixels wide. */
export function findStrips(plane: Plane): Strip[] {
  const blocks = withinStripes(stripedBlocks(plane));
  const strips: Strip[] = [];
  const isTaken = new Set<Block>();
  for (const patch of patchesOf(blocks)) {
    if (strips.length === MOST_STRIPS) break;
    if (patch.some((block) => isTaken.has(block))) continue;
    const row = rowOf(patch, blocks);
    for (const block of row.blocks) isTaken.add(block);
    const strip = stripOf(row);
    if (strip.height <= MOST_HEIGHT_PX) strips.push(strip);
  }
  return strips;
}

function stripedBlocks(plane: Plane): Block[] {
  const { data, width, height } = smoothed(plane, 0.7);
  const [columns, rows] = [Math.floor(width / BLOCK), Math.floor(height / BLOCK)];
  const blocks: Block[] = [];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let [xx, xy, yy] = [0, 0, 0];
      for (let y = Math.max(1, row * BLOCK); y < Math.min(height - 1, (row + 1) * BLOCK); y++) {
        for (let x = Math.max(1, column * BLOCK); x < Math.min(width - 1, (column + 1) * BLOCK); x++) {
          const at = y * width + x;
          const gx = ((data[at + 1] as number) - (data[at - 1] as number)) / 2;
          const gy = ((data[at + width] as number) - (data[at - width] as number)) / 2;
          xx += gx * gx;
          xy += gx * gy;
          yy += gy * gy;
        }
      }
      const across = Math.hypot(xx - yy, 2 * xy);
      if (across < LEAST_COHERENCE * (xx + yy) || across < LEAST_ENERGY * BLOCK * BLOCK) continue;
      blocks.push({ column, row, direction: Math.atan2(2 * xy, xx - yy) / 2, weight: Math.sqrt(across) });
    }
  }
  return blocks;
}

/** Without those that stand alone across the stripes, as the edge of a label does. */
function withinStripes(blocks: readonly Block[]): Block[] {
  const at = new Map(blocks.map((block) => [`${block.column} ${block.row}`, block]));
  return blocks.filter(({ column, row, direction }) => {
    const [cos, sin] = [Math.cos(direction), Math.sin(direction)];
    const beside = [-2, -1, 1, 2].filter((step) => {
      const other = at.get(`${Math.round(column + step * cos)} ${Math.round(row + step * sin)}`);
      return other !== undefined && Math.abs(turnBetween(other.direction, direction)) < SAME_DIRECTION;
    });
    return beside.length >= LEAST_BESIDE;
  });
}

/** Connected blocks of much the same direction, the weightiest patches first. */
function patchesOf(blocks: readonly Block[]): Block[][] {
  const at = new Map(blocks.map((block) => [`${block.column} ${block.row}`, block]));
  const isSeen = new Set<Block>();
  const patches: Block[][] = [];
  for (const seed of blocks) {
    if (isSeen.has(seed)) continue;
    isSeen.add(seed);
    const patch = [seed];
    for (const block of patch) {
      for (let row = block.row - NEAR; row <= block.row + NEAR; row++) {
        for (let column = block.column - NEAR; column <= block.column + NEAR; column++) {
          const other = at.get(`${column} ${row}`);
          if (other === undefined || isSeen.has(other)) continue;
          if (Math.abs(turnBetween(other.direction, block.direction)) > NEIGHBOUR_DIRECTION) continue;
          isSeen.add(other);
          patch.push(other);
        }
      }
    }
    if (patch.length >= LEAST_BLOCKS) patches.push(patch);
  }
  return patches.sort((a, b) => weightOf(b) - weightOf(a));
}

const weightOf = (blocks: readonly Block[]): number => blocks.reduce((sum, { weight }) => sum + weight, 0);

/** From one direction to another, modulo π: -π/2 to π/2. */
function turnBetween(to: number, from: number): number {
  const turn = to - from;
  return turn - Math.PI * Math.round(turn / Math.PI);
}

/** A block's place in the frame of a row of bars: along the row, and down the bars. */
interface Placed {
  readonly along: number;
  readonly down: number;
  readonly turn: number;
  readonly weight: number;
}

interface Row {
  readonly blocks: readonly Block[];
  readonly placed: readonly Placed[];
  readonly direction: number;
  /** How the bars' direction changes along the row: turn = first + slope · along. */
  readonly first: number;
  readonly slope: number;
}

/** All blocks in line with a patch, however much of mud is between them. */
function rowOf(patch: readonly Block[], blocks: readonly Block[]): Row {
  const direction = meanDirection(patch);
  const place = placer(direction);
  const own = patch.map(place);
  const [left, right] = rangeOf(own.map(({ along }) => along));
  const [top, bottom] = rangeOf(own.map(({ down }) => down));
  const inLine = blocks.filter((block) => {
    const { along, down, turn } = place(block);
    return (
      Math.abs(turn) < SAME_DIRECTION &&
      along > left - MOST_LENGTH_PX &&
      along < right + MOST_LENGTH_PX &&
      down > top - BESIDE_PX &&
      down < bottom + BESIDE_PX
    );
  });
  const placed = inLine.map(place);
  return { blocks: inLine, placed, direction, ...turning(placed) };
}

function meanDirection(blocks: readonly Block[]): number {
  let [x, y] = [0, 0];
  for (const { direction, weight } of blocks) {
    x += weight * Math.cos(2 * direction);
    y += weight * Math.sin(2 * direction);
  }
  return Math.atan2(y, x) / 2;
}

const placer =
  (direction: number) =>
  ({ column, row, direction: own, weight }: Block): Placed => {
    const [x, y] = [(column + 0.5) * BLOCK, (row + 0.5) * BLOCK];
    const [cos, sin] = [Math.cos(direction), Math.sin(direction)];
    return {
      along: cos * x + sin * y,
      down: cos * y - sin * x,
      turn: turnBetween(own, direction),
      weight,
    };
  };

function rangeOf(values: readonly number[]): [number, number] {
  return [
    values.reduce((a, b) => Math.min(a, b), Number.MAX_VALUE),
    values.reduce((a, b) => Math.max(a, b), -Number.MAX_VALUE),
  ];
}

/** Scatter of a block's direction about the line that is fitted through all of them, radians. */
const USUAL_SCATTER = 0.04;

/** A line through the turns, robustly: bars seen at a slant lean to either side. */
function turning(placed: readonly Placed[]): { first: number; slope: number } {
  let [first, slope] = [0, 0];
  for (let round = 0; round < 4; round++) {
    let [sw, su, suu, st, sut] = [0, 0, 0, 0, 0];
    for (const { along, turn, weight } of placed) {
      const off = (turn - first - slope * along) / USUAL_SCATTER;
      const w = weight / (1 + off * off);
      sw += w;
      su += w * along;
      suu += w * along * along;
      st += w * turn;
      sut += w * along * turn;
    }
    const spread = suu - (su * su) / sw;
    // Short of a hundred pixels to either side the slope is held at none.
    slope = (sut - (su * st) / sw) / (spread + 1e3 * sw);
    slope = Math.min(MOST_TURN, Math.max(-MOST_TURN, slope));
    first = (st - slope * su) / sw;
  }
  return { first, slope };
}

function stripOf({ placed, direction, first, slope }: Row): Strip {
  const [left, right] = rangeOf(placed.map(({ along }) => along));
  const [top, bottom] = rangeOf(placed.map(({ down }) => down));
  const seenPx = right - left;
  const beyondPx = Math.max(LEAST_BEYOND_PX, Math.min(MOST_LENGTH_PX - seenPx, HIDDEN_SHARE * seenPx));
  const [from, to] = [left - beyondPx, right + beyondPx];
  const [middle, half] = [(top + bottom) / 2, (bottom - top + BLOCK) / 2];
  const [cos, sin] = [Math.cos(direction), Math.sin(direction)];
  const corner = (along: number, side: -1 | 1) => {
    const lean = -Math.tan(first + slope * along) * side * half;
    const [u, v] = [along + lean, middle + side * half];
    return { x: cos * u - sin * v, y: sin * u + cos * v };
  };
  return {
    pose: flatPose([corner(from, -1), corner(to, -1), corner(to, 1), corner(from, 1)]),
    width: Math.ceil(to - from),
    height: Math.ceil(2 * half),
  };
}
