/** Places in a picture where a code was read already, and what lies within them. */

import { TAG_QR_SIZE } from '../../codes/qr-block.js';
import type { PhotoCode } from '../photo.js';
import { distance, type Point } from '../point.js';
import { GRID } from './tag-grid.js';

/** A code that was read: its corners, clockwise, as far out as its frame, and how large its modules are. */
export interface Place {
  readonly corners: readonly Point[];
  readonly modulePx: number;
}

/** A frame seen through a lens is a little wider than it was printed. */
const SLACK_MODULES = 1;
/** Code 128: a character's width, and what start, check and stop take (ISO/IEC 15417), in modules. */
const CHARACTER_MODULES = 11;
const OTHER_MODULES = 35;

/** Of a QR code that is no tag's, whose size the decoders do not tell, the modules come out too large. */
export function placeOf({ kind, text, corners }: PhotoCode): Place {
  const sides = corners.map((corner, index) => distance(corner, corners[(index + 1) % 4] as Point));
  const modulePx =
    kind === 'qr'
      ? sides.reduce((sum, side) => sum + side, 0) / 4 / TAG_QR_SIZE
      : Math.max(...sides) / (CHARACTER_MODULES * text.length + OTHER_MODULES);
  const reach = kind === 'qr' ? (GRID + 2 * SLACK_MODULES) / TAG_QR_SIZE : 1;
  const x = corners.reduce((sum, corner) => sum + corner.x, 0) / 4;
  const y = corners.reduce((sum, corner) => sum + corner.y, 0) / 4;
  return {
    corners: corners.map((corner) => ({ x: x + (corner.x - x) * reach, y: y + (corner.y - y) * reach })),
    modulePx,
  };
}

/** In a picture halved `halvings` times. */
export function scaledPlace({ corners, modulePx }: Place, halvings: number): Place {
  const scale = 0.5 ** halvings;
  return {
    corners: corners.map(({ x, y }) => ({ x: x * scale, y: y * scale })),
    modulePx: modulePx * scale,
  };
}

export function isWithin({ corners }: Place, x: number, y: number): boolean {
  return corners.every((corner, index) => {
    const next = corners[(index + 1) % 4] as Point;
    return (next.x - corner.x) * (y - corner.y) - (next.y - corner.y) * (x - corner.x) >= 0;
  });
}
