/**
 * Where to write the names of points so that none covers another, nor a point.
 */

export interface Labelled<T> {
  readonly spot: T;
  /** The point in pixels, y downward. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
}

/** Pixels from the point to the middle of its name. */
export interface Placed<T> {
  readonly spot: T;
  readonly dx: number;
  readonly dy: number;
}

const HEIGHT = 13;
const RADIUS = 6;

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/**
 * The first names have the first choice; one for which there is no room is left out.
 * @param others points without a name, not to be covered where there is a choice
 */
export function placeLabels<T>(
  points: readonly Labelled<T>[],
  others: readonly { readonly x: number; readonly y: number }[],
): Placed<T>[] {
  const pointAt = ({ x, y }: { x: number; y: number }) => boxAround(x, y, 2 * RADIUS, 2 * RADIUS);
  const taken: Box[] = points.map(pointAt);
  const unnamed = others.map(pointAt);
  return points.flatMap(({ spot, x, y, width }, own) => {
    const side = width / 2 + RADIUS + 2;
    const places = [
      { dx: 0, dy: -11 },
      { dx: 0, dy: 13 },
      { dx: side, dy: 0 },
      { dx: -side, dy: 0 },
    ];
    const possible = places.filter(({ dx, dy }) => {
      const box = boxAround(x + dx, y + dy, width, HEIGHT);
      return taken.every((other, index) => index === own || !overlap(box, other));
    });
    const free =
      possible.find(({ dx, dy }) =>
        unnamed.every((other) => !overlap(boxAround(x + dx, y + dy, width, HEIGHT), other)),
      ) ?? possible[0];
    if (free === undefined) return [];
    taken.push(boxAround(x + free.dx, y + free.dy, width, HEIGHT));
    return [{ spot, ...free }];
  });
}

function boxAround(x: number, y: number, width: number, height: number): Box {
  return { left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 };
}

function overlap(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}
