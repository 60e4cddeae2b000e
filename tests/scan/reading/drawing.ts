/** Lines drawn at known places, for what looks for them. */
import type { Point } from '../../../src/scan/point.js';
import type { Plane } from '../../../src/scan/reading/plane.js';

export const [PAPER, INK] = [200, 60];

/** A straight stroke with square ends. */
export interface Stroke {
  readonly from: Point;
  readonly to: Point;
}

/** Strokes of one width on paper, their edges soft over a pixel. */
export function drawn(width: number, height: number, strokes: readonly Stroke[], strokePx: number): Plane {
  const data = Float32Array.from({ length: width * height }, (_, at) => {
    const [x, y] = [at % width, Math.floor(at / width)];
    const ink = strokes.map(({ from, to }) => {
      const length = Math.hypot(to.x - from.x, to.y - from.y);
      const [dx, dy] = [(to.x - from.x) / length, (to.y - from.y) / length];
      const along = Math.abs((x - from.x) * dx + (y - from.y) * dy - length / 2) - length / 2;
      const across = Math.abs((y - from.y) * dx - (x - from.x) * dy) - strokePx / 2;
      return Math.min(1, Math.max(0, 0.5 - along)) * Math.min(1, Math.max(0, 0.5 - across));
    });
    return PAPER - (PAPER - INK) * Math.max(0, ...ink);
  });
  return { data, width, height };
}

/** A point so far along a direction, in degrees. */
export const onwards = ({ x, y }: Point, degrees: number, distance: number): Point => ({
  x: x + distance * Math.cos((degrees * Math.PI) / 180),
  y: y + distance * Math.sin((degrees * Math.PI) / 180),
});
