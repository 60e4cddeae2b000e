/** Rectangles, in whichever unit their owner says: millimetres in stocks, dots in compositions. */

export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Degrees clockwise. */
export type Turn = 0 | 90 | 180 | 270;

/** Whether two boxes share more than `slack` of length on both axes. */
export function overlap(a: Box, b: Box, slack = 0): boolean {
  return (
    Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x) > slack &&
    Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y) > slack
  );
}

/** Whether `inner` lies in `outer`, give or take `slack`. */
export function contains(outer: Box, inner: Box, slack = 0): boolean {
  return (
    inner.x >= outer.x - slack &&
    inner.y >= outer.y - slack &&
    inner.x + inner.width <= outer.x + outer.width + slack &&
    inner.y + inner.height <= outer.y + outer.height + slack
  );
}

/**
 * Places a box that lies in a turned room of `room`'s size (width and height exchanged at 90 and
 * 270) into the coordinates of `room`'s owner.
 */
export function turnedInto(room: Box, turn: Turn, box: Box): Box {
  switch (turn) {
    case 0:
      return { ...box, x: room.x + box.x, y: room.y + box.y };
    case 90:
      return {
        x: room.x + room.width - box.y - box.height,
        y: room.y + box.x,
        width: box.height,
        height: box.width,
      };
    case 180:
      return {
        ...box,
        x: room.x + room.width - box.x - box.width,
        y: room.y + room.height - box.y - box.height,
      };
    case 270:
      return {
        x: room.x + box.y,
        y: room.y + room.height - box.x - box.width,
        width: box.height,
        height: box.width,
      };
  }
}

/** The largest rectangle within `room` that touches none of `zones`; null when nothing is left. */
export function largestFree(room: Box, zones: readonly Box[]): Box | null {
  const xs = [room.x, room.x + room.width, ...zones.flatMap((zone) => [zone.x, zone.x + zone.width])];
  const ys = [room.y, room.y + room.height, ...zones.flatMap((zone) => [zone.y, zone.y + zone.height])];
  let best: Box | null = null;
  for (const x of xs) {
    for (const right of xs) {
      for (const y of ys) {
        for (const bottom of ys) {
          const box = { x, y, width: right - x, height: bottom - y };
          if (box.width <= 0 || box.height <= 0 || !contains(room, box)) continue;
          if (best !== null && box.width * box.height <= best.width * best.height) continue;
          if (!zones.some((zone) => overlap(zone, box))) best = box;
        }
      }
    }
  }
  return best;
}

/** Size of a box as seen by what is turned in it. */
export function turnedSize(place: { readonly box: Box; readonly turn: Turn }): {
  width: number;
  height: number;
} {
  const { width, height } = place.box;
  return place.turn === 90 || place.turn === 270 ? { width: height, height: width } : { width, height };
}
