/**
 * How well a picture agrees with what is known of a tag's grid, in a given pose.
 *
 * The grid is cut into tiles, and each compared by itself: light and dark then only mean lighter and
 * darker than the rest of the tile, whatever the light there, and a tile under mud says nothing instead
 * of speaking against.
 */
import { levelAt, type Plane } from './plane.js';
import { type GridPoints, type Pose, placePoints } from './pose.js';
import { CELLS, GRID, LIGHT, VARYING } from './tag-grid.js';

/** Cells of a tile along a side; large enough to hold light and dark cells nearly anywhere. */
const TILE_STARTS = [0, 6, 12, 19, 25, GRID];
export const TILES_ALONG = TILE_STARTS.length - 1;
export const TILES = TILES_ALONG * TILES_ALONG;

const tileAlong = (index: number): number => TILE_STARTS.findLastIndex((start) => index >= start);

const TILE_OF_CELL = Uint8Array.from(
  { length: CELLS },
  (_, cell) => tileAlong(Math.floor(cell / GRID)) * TILES_ALONG + tileAlong(cell % GRID),
);

/** Variance that even a flawless picture has, in squared grey levels: keeps flat tiles from counting. */
const LEAST_VARIANCE = 6;

/** Points to look at, with what is known of each. */
export interface Probe extends GridPoints {
  /** From -1, dark, to 1, light: of a soft picture less near the edges of a cell. */
  readonly colour: Float64Array;
  readonly tile: Uint8Array;
  /** How many points stand for one cell. */
  readonly pointsEach: number;
  /** Of each tile: points, and mean and variance of their colour. */
  readonly tiles: TileColours;
}

export interface TileColours {
  readonly count: Float64Array;
  readonly mean: Float64Array;
  readonly variance: Float64Array;
}

export function tileColours(colour: Float64Array, tile: Uint8Array): TileColours {
  const [count, mean, variance] = [new Float64Array(TILES), new Float64Array(TILES), new Float64Array(TILES)];
  colour.forEach((shade, index) => {
    const at = tile[index] as number;
    count[at] = (count[at] as number) + 1;
    mean[at] = (mean[at] as number) + shade;
    variance[at] = (variance[at] as number) + shade * shade;
  });
  for (let at = 0; at < TILES; at++) {
    const n = count[at] as number;
    if (n === 0) continue;
    mean[at] = (mean[at] as number) / n;
    variance[at] = (variance[at] as number) / n - (mean[at] as number) ** 2;
  }
  return { count, mean, variance };
}

/**
 * The known cells of a grid, each looked at in `along` × `along` points, as a lens shows them that blurs
 * by `blurModules` (standard deviation).
 */
export function probeOf(known: Int8Array, along: number, blurModules: number): Probe {
  const soft = softened(known, along, blurModules);
  const u: number[] = [];
  const v: number[] = [];
  const colour: number[] = [];
  const tile: number[] = [];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] === VARYING) continue;
    const [row, column] = [Math.floor(cell / GRID), cell % GRID];
    for (let point = 0; point < along * along; point++) {
      const [x, y] = [column * along + (point % along), row * along + Math.floor(point / along)];
      u.push((2 * (x + 0.5)) / along / GRID - 1);
      v.push((2 * (y + 0.5)) / along / GRID - 1);
      colour.push(soft[y * along * GRID + x] as number);
      tile.push(TILE_OF_CELL[cell] as number);
    }
  }
  const [colours, tiles] = [Float64Array.from(colour), Uint8Array.from(tile)];
  return {
    u: Float64Array.from(u),
    v: Float64Array.from(v),
    colour: colours,
    tile: tiles,
    pointsEach: along * along,
    tiles: tileColours(colours, tiles),
  };
}

/**
 * The grid's colours at all points, `along` a cell on a side, blurred; varying cells count as grey, and
 * what is around the frame as the paper that it is printed on.
 */
function softened(known: Int8Array, along: number, blurModules: number): Float64Array {
  const side = GRID * along;
  // How much of each cell's colour comes to a point: the bell curve's share over the cell.
  const shares = Array.from({ length: side }, (_, point) =>
    Float64Array.from({ length: GRID }, (_, cell) => {
      const middle = (point + 0.5) / along;
      return bell((cell + 1 - middle) / blurModules) - bell((cell - middle) / blurModules);
    }),
  );
  const outside = shares.map((share) => 1 - share.reduce((sum, part) => sum + part, 0));
  const across = new Float64Array(GRID * side);
  for (let row = 0; row < GRID; row++) {
    for (let point = 0; point < side; point++) {
      let sum = LIGHT * (outside[point] as number);
      const share = shares[point] as Float64Array;
      for (let cell = 0; cell < GRID; cell++) {
        sum += (share[cell] as number) * (known[row * GRID + cell] as number);
      }
      across[row * side + point] = sum;
    }
  }
  const soft = new Float64Array(side * side);
  for (let y = 0; y < side; y++) {
    soft.fill(LIGHT * (outside[y] as number), y * side, (y + 1) * side);
    const share = shares[y] as Float64Array;
    for (let row = 0; row < GRID; row++) {
      const weight = share[row] as number;
      if (weight < 1e-6) continue;
      for (let x = 0; x < side; x++) {
        soft[y * side + x] = (soft[y * side + x] as number) + weight * (across[row * side + x] as number);
      }
    }
  }
  return soft;
}

/** The standard normal distribution function, to 0.0002 (its logistic approximation: Bowling and others, 2009). */
const bell = (z: number): number => 1 / (1 + Math.exp(-(0.07056 * z ** 3 + 1.5976 * z)));

/** For each tile, the least-squares line from colour to level. */
export interface TileFit {
  /** Mean level and, for one step of colour, slope; the mean colour. */
  readonly level: Float64Array;
  readonly slope: Float64Array;
  readonly colour: Float64Array;
  /** Variance about the line. */
  readonly variance: Float64Array;
  /** Correlation, 0 where negative: a tile whose dark is light speaks of nothing. */
  readonly correlation: Float64Array;
  /** Log-likelihood ratio of the line against no relation, in cells. */
  readonly score: number;
}

export function fitTiles({ colour, tile, pointsEach, tiles }: Probe, levels: Float64Array): TileFit {
  const sumLevel = new Float64Array(TILES);
  const sumSquare = new Float64Array(TILES);
  const sumProduct = new Float64Array(TILES);
  for (let index = 0; index < levels.length; index++) {
    const at = tile[index] as number;
    const level = levels[index] as number;
    sumLevel[at] = (sumLevel[at] as number) + level;
    sumSquare[at] = (sumSquare[at] as number) + level * level;
    sumProduct[at] = (sumProduct[at] as number) + level * (colour[index] as number);
  }
  const fit = {
    level: new Float64Array(TILES),
    slope: new Float64Array(TILES),
    colour: new Float64Array(TILES),
    variance: new Float64Array(TILES).fill(Number.POSITIVE_INFINITY),
    correlation: new Float64Array(TILES),
  };
  let score = 0;
  for (let at = 0; at < TILES; at++) {
    const n = tiles.count[at] as number;
    const varColour = tiles.variance[at] as number;
    if (n < 4 || varColour < 1e-3) continue;
    const meanColour = tiles.mean[at] as number;
    const meanLevel = (sumLevel[at] as number) / n;
    const varLevel = Math.max(0, (sumSquare[at] as number) / n - meanLevel * meanLevel) + LEAST_VARIANCE;
    const covariance = (sumProduct[at] as number) / n - meanColour * meanLevel;
    const correlation = Math.max(0, covariance / Math.sqrt(varColour * varLevel));
    fit.level[at] = meanLevel;
    fit.colour[at] = meanColour;
    fit.slope[at] = covariance / varColour;
    fit.variance[at] = varLevel * (1 - correlation * correlation);
    fit.correlation[at] = correlation;
    score -= (n / pointsEach / 2) * Math.log(1 - correlation * correlation);
  }
  return { ...fit, score };
}

/** Room for the points of a probe, so that trying many poses does not allocate. */
export class Sampler {
  readonly probe: Probe;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly levels: Float64Array;

  constructor(probe: Probe) {
    this.probe = probe;
    this.xs = new Float64Array(probe.u.length);
    this.ys = new Float64Array(probe.u.length);
    this.levels = new Float64Array(probe.u.length);
  }

  /** Samples the picture in a pose and fits the tiles; `levels` holds the samples until the next call. */
  fit(plane: Plane, pose: Pose): TileFit {
    placePoints(pose, this.probe, this.xs, this.ys);
    for (let index = 0; index < this.levels.length; index++) {
      this.levels[index] = levelAt(plane, this.xs[index] as number, this.ys[index] as number);
    }
    return fitTiles(this.probe, this.levels);
  }
}
