/**
 * How well a picture agrees with what is known of a tag's grid, in a given pose.
 *
 * The grid is cut into tiles, and each compared by itself: light and dark then only mean lighter and
 * darker than the rest of the tile, whatever the light there, and a tile under mud says nothing instead
 * of speaking against.
 */
import { levelAt, type Plane } from './plane.js';
import { type GridPoints, type Pose, placePoints } from './pose.js';
import { CELLS, GRID, VARYING } from './tag-grid.js';

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
  /** `LIGHT` or `DARK`. */
  readonly colour: Int8Array;
  readonly tile: Uint8Array;
  /** How many points stand for one cell. */
  readonly pointsEach: number;
}

/** The known cells of a grid, each looked at in `along` × `along` points. */
export function probeOf(known: Int8Array, along: number): Probe {
  const u: number[] = [];
  const v: number[] = [];
  const colour: number[] = [];
  const tile: number[] = [];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] === VARYING) continue;
    const [row, column] = [Math.floor(cell / GRID), cell % GRID];
    for (let point = 0; point < along * along; point++) {
      u.push((2 * (column + ((point % along) + 0.5) / along)) / GRID - 1);
      v.push((2 * (row + (Math.floor(point / along) + 0.5) / along)) / GRID - 1);
      colour.push(known[cell] as number);
      tile.push(TILE_OF_CELL[cell] as number);
    }
  }
  return {
    u: Float64Array.from(u),
    v: Float64Array.from(v),
    colour: Int8Array.from(colour),
    tile: Uint8Array.from(tile),
    pointsEach: along * along,
  };
}

/** For each tile: count, and the least-squares line from colour to level. */
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

export function fitTiles({ colour, tile, pointsEach }: Probe, levels: Float64Array): TileFit {
  const count = new Float64Array(TILES);
  const sumColour = new Float64Array(TILES);
  const sumLevel = new Float64Array(TILES);
  const sumSquare = new Float64Array(TILES);
  const sumProduct = new Float64Array(TILES);
  for (let index = 0; index < levels.length; index++) {
    const at = tile[index] as number;
    const level = levels[index] as number;
    const shade = colour[index] as number;
    count[at] = (count[at] as number) + 1;
    sumColour[at] = (sumColour[at] as number) + shade;
    sumLevel[at] = (sumLevel[at] as number) + level;
    sumSquare[at] = (sumSquare[at] as number) + level * level;
    sumProduct[at] = (sumProduct[at] as number) + level * shade;
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
    const n = count[at] as number;
    if (n < 4) continue;
    const meanColour = (sumColour[at] as number) / n;
    const meanLevel = (sumLevel[at] as number) / n;
    // Colours are 1 and -1, so that their mean square is 1.
    const varColour = 1 - meanColour * meanColour;
    if (varColour < 1e-9) continue;
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
