/**
 * What is measured in each cell beside its level, to tell what lies on a tag from the tag itself: its
 * colour against that of the paper, and whether it is blinded white.
 */
import { quantile } from './numbers.js';
import { type ColourPlanes, levelAt, type Plane } from './plane.js';
import { type GridPoints, type Pose, placePoints } from './pose.js';
import { CELLS, GRID, LIGHT } from './tag-grid.js';

/** Looks along a side of a cell, and the share of the cell they span. */
const LOOKS = 3;
const LOOK_SPAN = 0.6;
const EACH = LOOKS * LOOKS;

const LOOK_POINTS: GridPoints = (() => {
  const u = new Float64Array(CELLS * EACH);
  const v = new Float64Array(CELLS * EACH);
  const offset = (look: number): number => 0.5 + LOOK_SPAN * (look / (LOOKS - 1) - 0.5);
  for (let cell = 0, at = 0; cell < CELLS; cell++) {
    for (let look = 0; look < EACH; look++, at++) {
      u[at] = (2 * ((cell % GRID) + offset(look % LOOKS))) / GRID - 1;
      v[at] = (2 * (Math.floor(cell / GRID) + offset(Math.floor(look / LOOKS)))) / GRID - 1;
    }
  }
  return { u, v };
})();

/** Levels from here on are those of a blinded sensor. */
const BLINDED = 252;

export interface CellMeasures {
  readonly levels: Float64Array;
  /** Other measures, each about 0 for the bare tag. */
  readonly others: readonly Float64Array[];
}

export function measureCells(planes: ColourPlanes, pose: Pose, known: Int8Array): CellMeasures {
  const xs = new Float64Array(LOOK_POINTS.u.length);
  const ys = new Float64Array(LOOK_POINTS.u.length);
  placePoints(pose, LOOK_POINTS, xs, ys);
  const mean = (plane: Plane, of: (level: number) => number): Float64Array => {
    const means = new Float64Array(CELLS);
    for (let at = 0; at < xs.length; at++) {
      const cell = (at / EACH) | 0;
      means[cell] = (means[cell] as number) + of(levelAt(plane, xs[at] as number, ys[at] as number)) / EACH;
    }
    return means;
  };
  const levels = mean(planes.gray, (level) => level);
  const blinded = mean(planes.gray, (level) => Number(level >= BLINDED));
  const colours = [planes.warm, planes.green].flatMap((plane) =>
    plane === null
      ? []
      : [
          againstPaper(
            mean(plane, (level) => level),
            levels,
            known,
          ),
        ],
  );
  return { levels, others: [blinded, ...colours] };
}

/** Less the colour that the paper's tint, and that of the light on it, would give a cell of this level. */
function againstPaper(colour: Float64Array, levels: Float64Array, known: Int8Array): Float64Array {
  const tints: number[] = [];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] === LIGHT) tints.push((colour[cell] as number) / Math.max(1, levels[cell] as number));
  }
  const tint = quantile(tints, 0.5) ?? 0;
  return colour.map((value, cell) => (value - tint * (levels[cell] as number)) / 255);
}
