/**
 * From aligned bars to what is seen of each module: all rows show the same, so that they vote, each part of
 * a row by itself; what contradicts the others, or shows no contrast, is taken for mud, glare or a scratch.
 */
import { quantile } from './numbers.js';
import { type ColourPlanes, levelAt, type Plane } from './plane.js';
import { type Pose, placePoints } from './pose.js';

export interface BarEvidence {
  /** Per module: 0 as ink, 1 as paper. */
  readonly shade: Float64Array;
  /** Per module: how many rows show it. */
  readonly rows: Float64Array;
  /** Per module: variance of `shade` as the rows differ. */
  readonly variance: Float64Array;
  /** Row by row: how far each module's look in it was believed, from 0 to 1. */
  readonly believed: Float64Array;
}

const MOST_ROWS = 28;
const ROW_PX = 1.5;
/** Looks across a module, in shares of it. */
const LOOKS = [0.25, 0.5, 0.75] as const;
/** Modules to each side that tell the light of a place. */
const REACH = 9;
/** Light is looked at anew every so many modules. */
const STRIDE = 3;
const PAPER_QUANTILE = 0.85;
const INK_QUANTILE = 0.15;
/** Levels from here on are those of a blinded sensor. */
const BLINDED = 252;
/** Red less blue, against that of paper of this level, by which bare cells scatter (of full scale). */
const COLOUR_SCATTER = 0.06;
/** Neighbourhood in which a part of a row is believed or not. */
const PATCH_MODULES = 4;
const PATCH_ROWS = 1;
const ROUNDS = 6;
const LEAST_CONTRAST = 5;
/** What is assumed of a module's rows: as much as one row that is off by this. */
const USUAL_OFF = 0.2;

export function barEvidence(
  planes: ColourPlanes,
  pose: Pose,
  modules: number,
  heightPx: number,
): BarEvidence {
  const rowCount = Math.max(4, Math.min(MOST_ROWS, Math.floor(heightPx / ROW_PX)));
  const levels = measured(planes.gray, pose, modules, rowCount);
  const warm = planes.warm === null ? null : measured(planes.warm, pose, modules, rowCount);
  const { paper, ink } = lightOf(levels, modules, rowCount);
  const contrast = paper.map((level, cell) => level - (ink[cell] as number));
  const usual = Math.max(LEAST_CONTRAST, quantile(contrast, 0.9) ?? 0);
  const tint = warm === null ? 0 : tintOf(warm, levels, contrast, usual);
  const shade = levels.map(
    (level, cell) => (level - (ink[cell] as number)) / Math.max(LEAST_CONTRAST, contrast[cell] as number),
  );
  const sound = contrast.map((value, cell) => {
    if ((levels[cell] as number) >= BLINDED && (ink[cell] as number) >= BLINDED - 40) return 0;
    const off = warm === null ? 0 : ((warm[cell] as number) - tint * (levels[cell] as number)) / 255;
    const plainness = Math.exp(-0.5 * (off / COLOUR_SCATTER) ** 2);
    return plainness * Math.min(1, Math.max(0, (value / usual - 0.2) / 0.3));
  });
  return voted(shade, sound, modules, rowCount);
}

function measured(plane: Plane, pose: Pose, modules: number, rowCount: number): Float64Array {
  const u = new Float64Array(modules * LOOKS.length);
  for (let at = 0; at < u.length; at++) {
    const module = Math.floor(at / LOOKS.length) + (LOOKS[at % LOOKS.length] as number);
    u[at] = (2 * module) / modules - 1;
  }
  const [xs, ys] = [new Float64Array(u.length), new Float64Array(u.length)];
  const levels = new Float64Array(modules * rowCount);
  for (let row = 0; row < rowCount; row++) {
    placePoints(pose, { u, v: new Float64Array(u.length).fill((2 * (row + 0.5)) / rowCount - 1) }, xs, ys);
    for (let at = 0; at < u.length; at++) {
      const cell = row * modules + Math.floor(at / LOOKS.length);
      levels[cell] =
        (levels[cell] as number) + levelAt(plane, xs[at] as number, ys[at] as number) / LOOKS.length;
    }
  }
  return levels;
}

/** The levels of paper and ink about every place, by quantiles along its row. */
function lightOf(levels: Float64Array, modules: number, rowCount: number) {
  const [paper, ink] = [new Float64Array(levels.length), new Float64Array(levels.length)];
  const span = 2 * REACH + 1;
  for (let row = 0; row < rowCount; row++) {
    const [above, below] = [Math.max(0, row - 1), Math.min(rowCount - 1, row + 1)];
    const near = new Float64Array((below - above + 1) * span);
    for (let module = 0; module < modules; module += STRIDE) {
      const from = Math.max(0, Math.min(modules - span, module + (STRIDE >> 1) - REACH));
      for (let r = above; r <= below; r++) {
        near.set(levels.subarray(r * modules + from, r * modules + from + span), (r - above) * span);
      }
      near.sort();
      const [at, end] = [row * modules + module, row * modules + Math.min(modules, module + STRIDE)];
      paper.fill(near[Math.floor(PAPER_QUANTILE * near.length)] as number, at, end);
      ink.fill(near[Math.floor(INK_QUANTILE * near.length)] as number, at, end);
    }
  }
  return { paper, ink };
}

function tintOf(warm: Float64Array, levels: Float64Array, contrast: Float64Array, usual: number): number {
  const tints: number[] = [];
  for (let cell = 0; cell < warm.length; cell++) {
    if ((contrast[cell] as number) > 0.6 * usual) {
      tints.push((warm[cell] as number) / Math.max(20, levels[cell] as number));
    }
  }
  return quantile(tints, 0.5) ?? 0;
}

/** By turns what the rows say together, and how far each part of a row is to be believed. */
function voted(shade: Float64Array, sound: Float64Array, modules: number, rowCount: number): BarEvidence {
  let weights = sound;
  for (let round = 1; ; round++) {
    const mean = new Float64Array(modules);
    const rows = new Float64Array(modules);
    const spread = new Float64Array(modules);
    for (let cell = 0; cell < shade.length; cell++) {
      const module = cell % modules;
      rows[module] = (rows[module] as number) + (weights[cell] as number);
      mean[module] = (mean[module] as number) + (weights[cell] as number) * (shade[cell] as number);
    }
    for (let module = 0; module < modules; module++) {
      mean[module] = ((mean[module] as number) + 0.05) / ((rows[module] as number) + 0.1);
    }
    const off = shade.map((value, cell) => (value - (mean[cell % modules] as number)) ** 2);
    for (let cell = 0; cell < off.length; cell++) {
      const module = cell % modules;
      spread[module] = (spread[module] as number) + (weights[cell] as number) * (off[cell] as number);
    }
    if (round === ROUNDS) {
      const variance = spread.map(
        (sum, module) =>
          (sum + USUAL_OFF ** 2) / ((rows[module] as number) + 1) / ((rows[module] as number) + 0.1),
      );
      return { shade: mean, rows, variance, believed: weights };
    }
    const tolerated = round < ROUNDS / 2 ? 0.25 : 0.18;
    weights = patchMeans(off, sound, modules, rowCount).map(
      (misfit, cell) => (sound[cell] as number) / (1 + (misfit / tolerated ** 2) ** 2),
    );
  }
}

/** Mean of a value over the patch around each cell, weighted. */
function patchMeans(
  values: Float64Array,
  weights: Float64Array,
  modules: number,
  rowCount: number,
): Float64Array {
  const means = new Float64Array(values.length);
  for (let row = 0; row < rowCount; row++) {
    for (let module = 0; module < modules; module++) {
      let [sum, total] = [0, 0];
      for (let r = Math.max(0, row - PATCH_ROWS); r <= Math.min(rowCount - 1, row + PATCH_ROWS); r++) {
        const last = Math.min(modules - 1, module + PATCH_MODULES);
        for (let m = Math.max(0, module - PATCH_MODULES); m <= last; m++) {
          const weight = (weights[r * modules + m] as number) + 1e-6;
          sum += weight * (values[r * modules + m] as number);
          total += weight;
        }
      }
      means[row * modules + module] = sum / total;
    }
  }
  return means;
}
