/**
 * Whether something dark is where a symbol should be: an empty place is a tag that was not printed or
 * was taken off; a dark one is a tag that is there and cannot be read.
 */
import type { GrayPicture } from '../../scan/picture.js';
import type { Box } from '../geometry.js';
import { distance, inverted, mapPoint, type PlaneMap, type Point } from './projective.js';
import { isInside, levelAt } from './sampling.js';

export type Seen = 'empty' | 'dark' | 'outside the picture';

/** Levels of paper and ink at a place of the page (mm). */
export interface Levels {
  readonly at: Point;
  readonly paper: number;
  readonly ink: number;
}

/** Dots along each side that are looked at. */
const DOTS = 40;
/** A printed symbol is about half dark; a smudge or the edge of something is less than this. */
const DARK_SHARE = 0.06;
/** So far from paper to ink a dot counts as dark: faded print does, the backing of a label does not. */
const DARK_FROM = 0.35;
/** The light of a place is that of so many read symbols next to it. */
const NEIGHBOURS = 3;

export function levelsOf(picture: GrayPicture, pose: PlaneMap, box: Box): Levels {
  const levels = sample(picture, inverted(pose), box).sort((a, b) => a - b);
  return {
    at: { x: box.x + box.width / 2, y: box.y + box.height / 2 },
    ink: levels[Math.floor(0.1 * levels.length)] ?? 0,
    paper: levels[Math.floor(0.9 * levels.length)] ?? 255,
  };
}

export function seenAtBox(picture: GrayPicture, pose: PlaneMap, box: Box, read: readonly Levels[]): Seen {
  const toPicture = inverted(pose);
  const middle = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  const centre = mapPoint(toPicture, middle);
  if (!isInside(picture, centre.x, centre.y)) return 'outside the picture';
  const near = [...read].sort((a, b) => distance(a.at, middle) - distance(b.at, middle)).slice(0, NEIGHBOURS);
  if (near.length === 0) return 'dark';
  const paper = near.reduce((sum, levels) => sum + levels.paper, 0) / near.length;
  const ink = near.reduce((sum, levels) => sum + levels.ink, 0) / near.length;
  const limit = paper - DARK_FROM * (paper - ink);
  const levels = sample(picture, toPicture, box);
  return levels.filter((level) => level < limit).length > DARK_SHARE * levels.length ? 'dark' : 'empty';
}

function sample(picture: GrayPicture, toPicture: PlaneMap, { x, y, width, height }: Box): number[] {
  const levels: number[] = [];
  for (let row = 0; row < DOTS; row++) {
    for (let column = 0; column < DOTS; column++) {
      const place = { x: x + ((column + 0.5) / DOTS) * width, y: y + ((row + 0.5) / DOTS) * height };
      const at = mapPoint(toPicture, place);
      levels.push(levelAt(picture, at.x, at.y));
    }
  }
  return levels;
}
