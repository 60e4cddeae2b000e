/** A picture prepared for looking for tags in it. */
import type { ColourPicture } from '../picture.js';
import { type ColourPlanes, colourPlanes, halved, type Plane } from './plane.js';

/** Levels of a picture: each half as wide and high as the one before. */
export type Pyramid = readonly Plane[];

export interface Searchable {
  /** In colour, halved where the picture is large. */
  readonly planes: ColourPlanes;
  /** The same in grey, and smaller still. */
  readonly levels: Pyramid;
  /** How often the picture was halved before its largest level. */
  readonly halvings: number;
}

/** A larger picture is halved first: a tag's modules stay wide enough. */
const MOST_PIXELS = 3.2e6;
const LEAST_LEVEL_PX = 70;

/** @param leastHalvings how often a picture is halved even if it is small enough */
export function searchable(picture: ColourPicture, leastHalvings = 0): Searchable {
  const { width, height } = picture;
  let halvings = 0;
  while (
    Math.min(width, height) >> halvings > 1 &&
    (halvings < leastHalvings || (width >> halvings) * (height >> halvings) > MOST_PIXELS)
  ) {
    halvings++;
  }
  const planes = colourPlanes(picture, halvings);
  return { planes, levels: pyramidOf(planes.gray), halvings };
}

export function pyramidOf(plane: Plane): Pyramid {
  const levels = [plane];
  for (let level = plane; Math.min(level.width, level.height) >= 2 * LEAST_LEVEL_PX; ) {
    level = halved(level);
    levels.push(level);
  }
  return levels;
}
