/** Places in a picture, in pixels. */

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** Of what has an upper left corner of its own: clockwise from that. */
export type Corners = readonly [Point, Point, Point, Point];

export const distance = (a: Point, b: Point): number => Math.hypot(a.x - b.x, a.y - b.y);
