/**
 * From a rough pose to the one in which the picture agrees best with what is known of the grid:
 * Levenberg-Marquardt on the levels themselves, each tile weighing as much as it agrees.
 */
import type { Sampler, TileFit } from './agreement.js';
import { levelAt, type Plane } from './plane.js';
import { bendPenalty, type Pose, projectionOf, SLOPES, writeSlopes } from './pose.js';
import { solveSymmetric } from './solve.js';

export interface Fitted {
  readonly pose: Pose;
  readonly score: number;
}

const MOST_STEPS = 14;
/** A step that gains less is the last. */
const LEAST_GAIN = 0.05;
/** A tile that agrees less says nothing of where it lies. */
const LEAST_CORRELATION = 0.15;
/** Small beside a module, large beside rounding. */
const PIXEL_STEP = 0.25;
/** Values of a projection, which come first among the slopes of a point. */
const PROJECTION = [0, 1, 2, 3, 4, 5, 6, 7] as const;

/** @param free the values of the pose that may change (`FLAT`, `BENT_…`) */
export function refined(plane: Plane, sampler: Sampler, start: Pose, free: readonly number[]): Fitted {
  let pose = start;
  let fit = sampler.fit(plane, pose);
  let score = fit.score - bendPenalty(pose);
  let damping = 1e-3;
  for (let step = 0; step < MOST_STEPS; step++) {
    const equations = normalEquations(plane, sampler, pose, free, fit);
    let isBetter = false;
    for (let attempt = 0; attempt < 5 && !isBetter; attempt++) {
      const change = solveSymmetric(equations.matrix, equations.right, damping);
      if (change === null) {
        damping *= 10;
        continue;
      }
      const trial = pose.slice();
      free.forEach((index, at) => {
        trial[index] = (trial[index] as number) + (change[at] as number);
      });
      const trialFit = sampler.fit(plane, trial);
      const gain = trialFit.score - bendPenalty(trial) - score;
      if (gain > 0) {
        [pose, fit, score, isBetter] = [trial, trialFit, score + gain, true];
        damping = Math.max(1e-5, damping / 5);
        if (gain < LEAST_GAIN) return { pose, score };
      } else {
        damping *= 8;
      }
    }
    if (!isBetter) break;
  }
  return { pose, score };
}

interface Equations {
  /** The lower half. */
  readonly matrix: Float64Array;
  readonly right: Float64Array;
}

/**
 * Weighted least squares of the levels about each tile's line, linear in the free values.
 * @param sampler holds the levels that are seen in the pose
 */
function normalEquations(
  plane: Plane,
  sampler: Sampler,
  pose: Pose,
  free: readonly number[],
  fit: TileFit,
): Equations {
  const bends = free.filter((index) => index >= PROJECTION.length);
  // All corners move a point by way of the same eight values of the projection: those are summed over the
  // points, and what the corners do to them counts once.
  const equations = equationsBySlopes(plane, sampler, pose, [...PROJECTION, ...bends], fit);
  return changedTo(
    equations,
    free.map((index) => changeBy(pose, index, bends)),
  );
}

/** As `normalEquations`, linear in the values that these slopes are of. */
function equationsBySlopes(
  plane: Plane,
  { probe, xs, ys, levels }: Sampler,
  pose: Pose,
  columns: readonly number[],
  fit: TileFit,
): Equations {
  const size = columns.length;
  const projection = projectionOf(pose);
  const slopes = new Float64Array(SLOPES);
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const row = new Float64Array(size);
  for (let index = 0; index < levels.length; index++) {
    const tile = probe.tile[index] as number;
    const correlation = fit.correlation[tile] as number;
    if (correlation < LEAST_CORRELATION) continue;
    const expected =
      (fit.level[tile] as number) +
      (fit.slope[tile] as number) * ((probe.colour[index] as number) - (fit.colour[tile] as number));
    const residual = (levels[index] as number) - expected;
    const variance = fit.variance[tile] as number;
    const weight = (correlation * correlation) / (variance + residual * residual * 0.3);
    const [x, y] = [xs[index] as number, ys[index] as number];
    const gx = levelAt(plane, x + 0.5, y) - levelAt(plane, x - 0.5, y);
    const gy = levelAt(plane, x, y + 0.5) - levelAt(plane, x, y - 0.5);
    writeSlopes(pose, projection, probe.u[index] as number, probe.v[index] as number, gx, gy, slopes);
    for (let a = 0; a < size; a++) row[a] = slopes[columns[a] as number] as number;
    for (let a = 0; a < size; a++) {
      const wa = weight * (row[a] as number);
      right[a] = (right[a] as number) - wa * residual;
      for (let b = 0; b <= a; b++) {
        matrix[a * size + b] = (matrix[a * size + b] as number) + wa * (row[b] as number);
      }
    }
  }
  return { matrix, right };
}

/** How the values of the projection, then the bends, change with a value of the pose. */
function changeBy(pose: Pose, index: number, bends: readonly number[]): Float64Array {
  const change = new Float64Array(PROJECTION.length + bends.length);
  if (index >= PROJECTION.length) {
    change[PROJECTION.length + bends.indexOf(index)] = 1;
    return change;
  }
  const [before, after] = [pose.slice(), pose.slice()];
  before[index] = (pose[index] as number) - PIXEL_STEP;
  after[index] = (pose[index] as number) + PIXEL_STEP;
  const [from, to] = [projectionOf(before), projectionOf(after)];
  for (const value of PROJECTION) change[value] = (to[value] - from[value]) / (2 * PIXEL_STEP);
  return change;
}

/** The same after a change of variables: row i of `changes` is the derivative of the old ones by the new one i. */
function changedTo({ matrix, right }: Equations, changes: readonly Float64Array[]): Equations {
  const [from, to] = [right.length, changes.length];
  const changed = { matrix: new Float64Array(to * to), right: new Float64Array(to) };
  changes.forEach((change, a) => {
    const product = new Float64Array(from);
    for (let i = 0; i < from; i++) {
      for (let j = 0; j < from; j++) {
        const value = matrix[Math.max(i, j) * from + Math.min(i, j)] as number;
        product[j] = (product[j] as number) + (change[i] as number) * value;
      }
    }
    changed.right[a] = dot(change, right);
    for (let b = 0; b <= a; b++) changed.matrix[a * to + b] = dot(product, changes[b] as Float64Array);
  });
  return changed;
}

const dot = (a: Float64Array, b: Float64Array): number =>
  a.reduce((sum, value, index) => sum + value * (b[index] as number), 0);
