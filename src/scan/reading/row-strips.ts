/** Rows of text beside a symbol as the picture shows them, straightened and sample by sample. */

import type { Pyramid } from './find.js';
import { levelAt, type Plane } from './plane.js';
import { modulePx, type Pose, placePoints, scaledPose } from './pose.js';
import { GRID } from './tag-grid.js';

/**
 * How a row of capitals lies beside the frame: the modules, from the frame's top left corner, of its upper
 * left corner (x, y), of a step by a capital's height along it (x, y), and of one down it (x, y).
 */
export type RowPlace = readonly [number, number, number, number, number, number];

/** So many capitals' heights further along the row. */
export function moveAlong([x, y, alongX, alongY, downX, downY]: RowPlace, caps: number): RowPlace {
  return [x + caps * alongX, y + caps * alongY, alongX, alongY, downX, downY];
}

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

export function stripOf(
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
