/**
 * What the camera sees of things: noise to make texture of, the ground a tag lies on, and the face of a
 * tag under mud, water and scratches. Colours are written into a triple rather than returned: this runs
 * once a pixel.
 */
import type { Random } from './random.js';
import type { BoxMm, GrayImage } from './rasterise.js';

export type Rgb = [red: number, green: number, blue: number];
export type Ground = 'bench' | 'soil' | 'terracotta' | 'black plastic';

export const clamp01 = (value: number): number => Math.min(1, Math.max(0, value));

/** From 0 at `low` to 1 at `high`, level at both ends. */
export function smoothstep(low: number, high: number, value: number): number {
  const t = clamp01((value - low) / (high - low));
  return t * t * (3 - 2 * t);
}

/** Smooth noise over the plane, 0 to 1 with mean 0.5, features about one unit wide. */
export type Noise = (x: number, y: number) => number;

/** Table cells along a side, and to one unit: the noise repeats after 128 units. */
const TABLE = 512;
const CELLS_PER_UNIT = 4;

/** Value noise of three octaves, summed into one table. */
export function makeNoise(random: Random): Noise {
  const table = new Float32Array(TABLE * TABLE);
  for (const [weight, spacing] of [
    [0.55, 4],
    [0.3, 2],
    [0.15, 1],
  ] as const) {
    const side = TABLE / spacing;
    const lattice = Float32Array.from({ length: side * side }, () => weight * random.next());
    for (let row = 0, at = 0; row < TABLE; row++) {
      for (let column = 0; column < TABLE; column++, at++) {
        table[at] = (table[at] as number) + between(lattice, side, column / spacing, row / spacing);
      }
    }
  }
  return (x, y) => between(table, TABLE, x * CELLS_PER_UNIT, y * CELLS_PER_UNIT);
}

/** The value of a repeating square table between its cells; `side` is a power of two. */
function between(table: Float32Array, side: number, x: number, y: number): number {
  const left = Math.floor(x);
  const top = Math.floor(y);
  const fx = x - left;
  const fy = y - top;
  const sx = fx * fx * (3 - 2 * fx);
  const sy = fy * fy * (3 - 2 * fy);
  const row = (top & (side - 1)) * side;
  const nextRow = ((top + 1) & (side - 1)) * side;
  const column = left & (side - 1);
  const nextColumn = (left + 1) & (side - 1);
  const a = table[row + column] as number;
  const b = table[row + nextColumn] as number;
  const c = table[nextRow + column] as number;
  const d = table[nextRow + nextColumn] as number;
  const upper = a + (b - a) * sx;
  return upper + (c + (d - c) * sx - upper) * sy;
}

/** The colour of the ground at (x, y) mm. */
export function groundColour(ground: Ground, noise: Noise, x: number, y: number, into: Rgb): void {
  if (ground === 'bench') {
    // Grey weathered boards, 68 mm wide, with a dark gap between them.
    const board = Math.floor((y + 900) / 68);
    const across = y + 900 - board * 68;
    const grain = noise(x * 0.02 + board * 13, y * 0.9) * 0.6 + noise(x * 0.12, y * 3.1) * 0.4;
    const shade = (across < 2.2 ? 0.35 : 1) * (0.72 + 0.55 * (grain - 0.5) + 0.05 * (board % 3));
    into[0] = 168 * shade;
    into[1] = 150 * shade;
    into[2] = 126 * shade;
  } else if (ground === 'soil') {
    const clod = noise(x * 0.16, y * 0.16);
    const crumb = noise(x * 0.9, y * 0.9);
    const fleck = noise(x * 0.55 + 90, y * 0.55 + 40);
    const shade = 0.25 + 0.75 * clod * (0.5 + crumb);
    const perlite = smoothstep(0.74, 0.78, fleck);
    into[0] = 96 * shade * (1 - perlite) + 205 * perlite;
    into[1] = 74 * shade * (1 - perlite) + 200 * perlite;
    into[2] = 55 * shade * (1 - perlite) + 190 * perlite;
  } else {
    const stain = noise(x * 0.05, y * 0.05);
    const pore = noise(x * 1.3, y * 1.3);
    const isClay = ground === 'terracotta';
    const shade = 1 + (isClay ? 0.5 : 0.25) * (stain - 0.5) + (isClay ? 0.18 : 0.3) * (pore - 0.5);
    // Lime salts bloom on old clay.
    const bloom = isClay ? 0.5 * smoothstep(0.58, 0.75, stain) : 0;
    into[0] = (isClay ? 172 : 46) * shade * (1 - bloom) + 205 * bloom;
    into[1] = (isClay ? 98 : 47) * shade * (1 - bloom) + 190 * bloom;
    into[2] = (isClay ? 68 : 49) * shade * (1 - bloom) + 175 * bloom;
  }
}

/** A picture made smaller by whole halvings until it has less than twice `pxPerMm`, so that it can be sampled. */
export function halvedTo(
  face: GrayImage,
  facePxPerMm: number,
  pxPerMm: number,
): { face: GrayImage; pxPerMm: number } {
  let [result, scale] = [face, facePxPerMm];
  while (scale >= 2 * pxPerMm && result.width > 1 && result.height > 1) {
    const width = result.width >> 1;
    const height = result.height >> 1;
    const data = new Uint8Array(width * height);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const at = 2 * y * result.width + 2 * x;
        const upper = (result.data[at] as number) + (result.data[at + 1] as number);
        const lower =
          (result.data[at + result.width] as number) + (result.data[at + result.width + 1] as number);
        data[y * width + x] = (upper + lower + 2) >> 2;
      }
    }
    result = { data, width, height };
    scale /= 2;
  }
  return { face: result, pxPerMm: scale };
}

/** How dirty a tag is; shares are of `box`, which is on the tag, in mm from its top left. */
export interface Dirt {
  readonly box: BoxMm;
  readonly mudShare: number;
  readonly mudBlobs: number;
  readonly splashShare: number;
  readonly scratchCount: number;
  readonly dropShare: number;
}

interface Drop {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** Layers over a tag, on a grid of cells; mm are measured from the tag's top left. */
export interface DirtLayers {
  /** Opacity of the mud at a point, 0 to 1. */
  mudAt(x: number, y: number): number;
  /** Light on the mud's relief there: 1 is level. */
  mudShadeAt(x: number, y: number): number;
  /** How much of the ink is scraped off there, 0 to 1. */
  scratchAt(x: number, y: number): number;
  readonly drops: readonly Drop[];
}

const CELLS_PER_MM = 6;
/** Mud reaches this far over the tag's edge. */
const OVERHANG_MM = 10;

export function makeDirt(
  dirt: Dirt,
  tagMm: { readonly width: number; readonly height: number },
  noise: Noise,
  random: Random,
): DirtLayers {
  const columns = Math.ceil((tagMm.width + 2 * OVERHANG_MM) * CELLS_PER_MM);
  const rows = Math.ceil((tagMm.height + 2 * OVERHANG_MM) * CELLS_PER_MM);
  const mud = new Float32Array(columns * rows);
  const scratch = new Float32Array(columns * rows);
  const paint = (layer: Float32Array, x: number, y: number, radius: number, softness: number): void => {
    const [cx, cy, r] = [cellOf(x), cellOf(y), radius * CELLS_PER_MM];
    for (let row = Math.max(0, Math.floor(cy - r - 1)); row <= Math.min(rows - 1, cy + r + 1); row++) {
      for (
        let column = Math.max(0, Math.floor(cx - r - 1));
        column <= Math.min(columns - 1, cx + r + 1);
        column++
      ) {
        const alpha = clamp01((r - Math.hypot(column - cx, row - cy)) / softness + 0.5);
        const at = row * columns + column;
        if (alpha > (layer[at] as number)) layer[at] = alpha;
      }
    }
  };
  const somewhere = (): [number, number] => [
    dirt.box.x + random.next() * dirt.box.width,
    dirt.box.y + random.next() * dirt.box.height,
  ];

  if (dirt.mudShare > 0) coverWithMud(mud, columns, rows, dirt, noise, random);
  const boxArea = dirt.box.width * dirt.box.height;
  for (let area = 0; area < dirt.splashShare * boxArea; ) {
    const radius = 0.15 + 0.7 * random.next() ** 3;
    paint(mud, ...somewhere(), radius, 1);
    area += Math.PI * radius * radius;
  }
  for (let count = 0; count < dirt.scratchCount; count++) {
    let [x, y] = somewhere();
    let heading = random.between(0, 2 * Math.PI);
    const [halfWidth, length] = [random.between(0.08, 0.25), random.between(8, 45)];
    for (let walked = 0; walked < length; walked += 0.1) {
      paint(scratch, x, y, halfWidth * Math.sin((Math.PI * walked) / length) ** 0.3, 1);
      heading += 0.004 * random.normal();
      x += 0.1 * Math.cos(heading);
      y += 0.1 * Math.sin(heading);
    }
  }
  const drops: Drop[] = [];
  for (let area = 0; area < dirt.dropShare * boxArea; ) {
    const [x, y] = somewhere();
    const radius = 0.5 + 2.2 * random.next() ** 2;
    drops.push({ x, y, radius });
    area += Math.PI * radius * radius;
  }
  const sample = (layer: Float32Array, x: number, y: number): number => {
    const [cx, cy] = [cellOf(x), cellOf(y)];
    const [left, top] = [Math.floor(cx), Math.floor(cy)];
    if (left < 0 || top < 0 || left >= columns - 1 || top >= rows - 1) return 0;
    const [fx, fy, at] = [cx - left, cy - top, top * columns + left];
    const upper = (layer[at] as number) * (1 - fx) + (layer[at + 1] as number) * fx;
    const lower = (layer[at + columns] as number) * (1 - fx) + (layer[at + columns + 1] as number) * fx;
    return upper * (1 - fy) + lower * fy;
  };
  return {
    mudAt: (x, y) => sample(mud, x, y),
    mudShadeAt: (x, y) => {
      const slope = sample(mud, x + 0.35, y + 0.35) - sample(mud, x - 0.35, y - 0.35);
      return 0.62 + 0.35 * noise(x * 1.1, y * 1.1) + 0.3 * noise(x * 0.3 + 50, y * 0.3) + 0.22 * slope;
    },
    scratchAt: (x, y) => sample(scratch, x, y),
    drops,
  };
}

const cellOf = (mm: number): number => (mm + OVERHANG_MM) * CELLS_PER_MM;

/** Blobs with ragged edges; the level is set so that exactly the asked share of the box lies under them. */
function coverWithMud(
  mud: Float32Array,
  columns: number,
  rows: number,
  { box, mudShare, mudBlobs }: Dirt,
  noise: Noise,
  random: Random,
): void {
  const blobRadius = Math.sqrt((box.width * box.height * mudShare) / (Math.PI * Math.max(1, mudBlobs)));
  const blobs = Array.from({ length: Math.max(1, mudBlobs) }, () => ({
    x: box.x + random.next() * box.width,
    y: box.y + random.next() * box.height,
    radius: blobRadius * random.between(0.6, 1.5),
    stretch: random.between(0.6, 1.6),
    turn: random.between(0, Math.PI),
  }));
  const [ox, oy] = [random.between(0, 200), random.between(0, 200)];
  const height = new Float32Array(columns * rows);
  const inBox: number[] = [];
  for (let row = 0, at = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, at++) {
      const [x, y] = [column / CELLS_PER_MM - OVERHANG_MM, row / CELLS_PER_MM - OVERHANG_MM];
      let highest = -Infinity;
      for (const blob of blobs) {
        const [dx, dy, cos, sin] = [x - blob.x, y - blob.y, Math.cos(blob.turn), Math.sin(blob.turn)];
        const along = (dx * cos + dy * sin) * blob.stretch;
        const across = (dy * cos - dx * sin) / blob.stretch;
        highest = Math.max(highest, blob.radius - Math.hypot(along, across));
      }
      const ragged =
        blobRadius * 1.1 * (noise(ox + (x * 1.4) / blobRadius, oy + (y * 1.4) / blobRadius) - 0.5);
      const frayed = 1.6 * (noise(ox + x * 0.8, oy + y * 0.8) - 0.5);
      height[at] = highest + ragged + frayed;
      if (x >= box.x && x < box.x + box.width && y >= box.y && y < box.y + box.height)
        inBox.push(height[at] as number);
    }
  }
  inBox.sort((a, b) => b - a);
  const level = inBox[Math.min(inBox.length - 1, Math.round(mudShare * inBox.length))] ?? 0;
  const EDGE_MM = 0.35;
  for (let at = 0; at < mud.length; at++) mud[at] = clamp01(((height[at] as number) - level) / EDGE_MM + 0.5);
}
