/**
 * Where a tag may lie by the finder patterns that are seen: one says it roughly, two exactly but for their sides across,
 * three exactly. Which three of a tag's corners they are is not known.
 */

import { QR_MARGIN_MODULES, TAG_QR_SIZE } from '../../codes/qr-block.js';
import type { Point } from '../point.js';
import type { Finder } from './finders.js';
import { flatPose, type Pose } from './pose.js';
import { GRID } from './tag-grid.js';

const FINDER_MODULES = 7;
/** From one finder pattern of a symbol to the next, in modules. */
const APART = TAG_QR_SIZE - FINDER_MODULES;
/** Finder patterns of one symbol, measured in one's own modules, are so far off their places at most: slant and bend. */
const MOST_OFF = 3;
/** From the grid's edge to the middle of a finder pattern, in modules. */
const INSIDE = QR_MARGIN_MODULES + FINDER_MODULES / 2;

type Axes = readonly [Point, Point];

/** Each with a finder pattern in the grid's first corner. */
export function finderPoses(finders: readonly Finder[]): Pose[] {
  return finders.flatMap((finder) => {
    const others = finders.filter((other) => other !== finder);
    return quarterTurns(finder.axes).flatMap((axes) => {
      const [right, down, across] = [
        [APART, 0],
        [0, APART],
        [APART, APART],
      ].map(([along, aside]) => stepsTo(finder, axes, others, along as number, aside as number)) as [
        Point[],
        Point[],
        Point[],
      ];
      const squares = [axes[0], ...right].flatMap((first) =>
        [axes[1], ...down].map((second): Axes => [first, second]),
      );
      const byDiagonals = across.map((diagonal) => stretched(axes, diagonal));
      return [...squares, ...byDiagonals].map((found) => poseAt(finder.at, found));
    });
  });
}

const quarterTurns = ([a, b]: Axes): Axes[] => [
  [a, b],
  [b, minus(a)],
  [minus(a), minus(b)],
  [minus(b), a],
];

const minus = ({ x, y }: Point): Point => ({ x: -x, y: -y });

/**
 * A step of one module towards each finder pattern that is seen about so many modules along both axes, if this one is
 * seen as far from it in its own modules.
 */
function stepsTo(
  { at }: Finder,
  axes: Axes,
  others: readonly Finder[],
  along: number,
  aside: number,
): Point[] {
  return others.flatMap((other) => {
    const way = { x: other.at.x - at.x, y: other.at.y - at.y };
    const isThere = isAbout(inModules(way, axes), along, aside);
    const isBack = quarterTurns(other.axes).some((turned) => isAbout(inModules(way, turned), along, aside));
    return isThere && isBack ? [{ x: way.x / APART, y: way.y / APART }] : [];
  });
}

const isAbout = ({ x, y }: Point, along: number, aside: number): boolean =>
  Math.hypot(x - along, y - aside) < MOST_OFF;

function inModules({ x, y }: Point, [a, b]: Axes): Point {
  const area = a.x * b.y - a.y * b.x;
  return { x: (x * b.y - y * b.x) / area, y: (a.x * y - a.y * x) / area };
}

/** Turned and scaled so that the two together are `diagonal`. */
function stretched([a, b]: Axes, diagonal: Point): Axes {
  const now = { x: a.x + b.x, y: a.y + b.y };
  const square = now.x * now.x + now.y * now.y;
  const cos = (diagonal.x * now.x + diagonal.y * now.y) / square;
  const sin = (diagonal.y * now.x - diagonal.x * now.y) / square;
  const turn = ({ x, y }: Point): Point => ({ x: cos * x - sin * y, y: sin * x + cos * y });
  return [turn(a), turn(b)];
}

function poseAt(at: Point, [a, b]: Axes): Pose {
  const corner = (along: number, aside: number): Point => ({
    x: at.x + along * a.x + aside * b.x,
    y: at.y + along * a.y + aside * b.y,
  });
  const [near, far] = [-INSIDE, GRID - INSIDE];
  return flatPose([corner(near, near), corner(far, near), corner(far, far), corner(near, far)]);
}
