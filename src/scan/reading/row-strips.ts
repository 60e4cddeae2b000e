/** Rows of text beside a symbol as the picture shows them, straightened and sample by sample. */

import { type Glyph, glyphSetOf, ROWS, SHAPE_ROWS } from './glyphs.js';
import { type ColourPlanes, levelAt, type Plane } from './plane.js';
import { modulePx, type Pose, placePoints, scaledPose } from './pose.js';
import type { Pyramid } from './searchable.js';
import { GRID } from './tag-grid.js';

/**
 * How a row of capitals lies beside the frame: the modules, from the frame's top left corner, of its upper
 * left corner (x, y), of a step by a capital's height along it (x, y), and of one down it (x, y).
 */
export type RowPlace = readonly [number, number, number, number, number, number];

/** A row of characters where it was found. */
export interface IdRow {
  readonly place: RowPlace;
  /** Blur of the characters, in samples of `glyphs.ts`. */
  readonly sigma: number;
  /** The characters that it looks most like, as values. */
  readonly values: readonly number[];
  /** How much they look like it: log of a likelihood ratio, in samples. */
  readonly score: number;
}

/** A row may begin so many capitals' heights earlier or later than it was first thought to. */
export const START_CAPS = 0.5;
/** What a row is longer for its issue, in heights. */
const ISSUE_CAPS = 1;

/** So many capitals' heights further along the row. */
export function moveAlong([x, y, alongX, alongY, downX, downY]: RowPlace, caps: number): RowPlace {
  return [x + caps * alongX, y + caps * alongY, alongX, alongY, downX, downY];
}

/** Of characters beside each other, in samples. */
export const lengthOf = (values: readonly number[], glyphs: readonly Glyph[]): number =>
  values.reduce((sum, value) => sum + (glyphs[value] as Glyph).advance, 0);

/** A picture seen from a pose of the symbol, at the level of detail that a row of samples needs. */
export class View {
  readonly #levels: Pyramid;
  readonly #pose: Pose;

  constructor(levels: Pyramid, pose: Pose) {
    this.#levels = levels;
    this.#pose = pose;
  }

  /** Levels of `columns` × `rows` samples, `perCap` to a capital's height, the first `above` rows above it. */
  strip(place: RowPlace, perCap: number, columns: number, above: number, rows: number): Float32Array {
    const sampleModules = Math.hypot(place[2], place[3]) / perCap;
    const samplePx = modulePx(this.#pose, GRID) * sampleModules;
    const level = Math.min(this.#levels.length - 1, Math.max(0, Math.round(Math.log2(samplePx))));
    return stripOf(
      this.#levels[level] as Plane,
      scaledPose(this.#pose, 1 / 2 ** level),
      place,
      perCap,
      columns,
      above,
      rows,
    );
  }
}

function stripOf(
  plane: Plane,
  pose: Pose,
  [x, y, alongX, alongY, downX, downY]: RowPlace,
  perCap: number,
  columns: number,
  above: number,
  rows: number,
): Float32Array {
  const size = columns * rows;
  const [u, v] = [new Float64Array(size), new Float64Array(size)];
  for (let row = 0, at = 0; row < rows; row++) {
    const down = (row + 0.5 - above) / perCap;
    for (let column = 0; column < columns; column++, at++) {
      const along = (column + 0.5) / perCap;
      u[at] = (2 * (x + alongX * along + downX * down)) / GRID - 1;
      v[at] = (2 * (y + alongY * along + downY * down)) / GRID - 1;
    }
  }
  // Each point is looked up before its pixel is written to the same place.
  placePoints(pose, { u, v }, u, v);
  const strip = new Float32Array(size);
  for (let at = 0; at < size; at++) strip[at] = levelAt(plane, u[at] as number, v[at] as number);
  return strip;
}

/** A row as it is seen, sample by sample: `columns` a row, `ROWS` rows. */
export interface RowStrips {
  readonly columns: number;
  readonly gray: Float32Array;
  /** Colours as in `ColourPlanes`; none of a grey picture. */
  readonly colours: readonly Float32Array[];
}

/** A found row with its issue (a dot and a digit or two), from `START_CAPS` before it on. */
export function stripsOf(
  levels: Pyramid,
  planes: ColourPlanes,
  pose: Pose,
  { place, values, sigma }: IdRow,
): RowStrips {
  const length = lengthOf(values, glyphSetOf(sigma).id);
  const columns = Math.ceil(length + (ISSUE_CAPS + START_CAPS) * SHAPE_ROWS.cap);
  const start = moveAlong(place, -START_CAPS);
  const strip = (plane: Plane): Float32Array =>
    stripOf(plane, pose, start, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
  return {
    columns,
    gray: new View(levels, pose).strip(start, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS),
    colours: [planes.warm, planes.green].flatMap((plane) => (plane === null ? [] : [strip(plane)])),
  };
}
