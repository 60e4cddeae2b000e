/**
 * From a rough pose to the one in which the picture agrees best with what is known of the grid:
 * Levenberg-Marquardt on the levels themselves, each tile weighing as much as it agrees.
 */
import type { Sampler, TileFit } from './agreement.js';
import { levelAt, type Plane } from './plane.js';
import { bendPenalty, type Pose, placePoints } from './pose.js';
import { solveSymmetric } from './solve.js';

export interface Fitted {
  readonly pose: Pose;
  readonly score: number;
}

const MOST_STEPS = 14;
/** A step that gains less is the last. */
const LEAST_GAIN = 0.05;
/** Half a pixel and a fiftieth: small beside what a module is, large beside rounding. */
const PIXEL_STEP = 0.25;
const SHARE_STEP = 0.01;

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

/** Weighted least squares of the levels about each tile's line, linear in the free values. */
function normalEquations(
  plane: Plane,
  sampler: Sampler,
  pose: Pose,
  free: readonly number[],
  fit: TileFit,
): { matrix: Float64Array; right: Float64Array } {
  const { probe, xs, ys, levels } = sampler;
  const size = free.length;
  const points = levels.length;
  sampler.fit(plane, pose);
  const moved = free.map((index) => {
    const step = index === 8 || index === 11 ? SHARE_STEP : PIXEL_STEP;
    const shifted = pose.slice();
    shifted[index] = (shifted[index] as number) + step;
    const [mx, my] = [new Float64Array(points), new Float64Array(points)];
    placePoints(shifted, probe, mx, my);
    return { mx, my, step };
  });
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const row = new Float64Array(size);
  for (let index = 0; index < points; index++) {
    const tile = probe.tile[index] as number;
    const correlation = fit.correlation[tile] as number;
    if (correlation < 0.15) continue;
    const variance = fit.variance[tile] as number;
    const expected =
      (fit.level[tile] as number) +
      (fit.slope[tile] as number) * ((probe.colour[index] as number) - (fit.colour[tile] as number));
    const residual = (levels[index] as number) - expected;
    const weight = (correlation * correlation) / (variance + residual * residual * 0.3);
    const [x, y] = [xs[index] as number, ys[index] as number];
    const gx = levelAt(plane, x + 0.5, y) - levelAt(plane, x - 0.5, y);
    const gy = levelAt(plane, x, y + 0.5) - levelAt(plane, x, y - 0.5);
    for (let a = 0; a < size; a++) {
      const { mx, my, step } = moved[a] as (typeof moved)[number];
      row[a] = (gx * ((mx[index] as number) - x) + gy * ((my[index] as number) - y)) / step;
    }
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
