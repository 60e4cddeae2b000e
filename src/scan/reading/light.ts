/** The levels of bare paper and bare ink over a tag's grid, which change with light and shade. */
import { quantile } from './numbers.js';
import { CELLS, DARK, GRID, LIGHT } from './tag-grid.js';

export interface Levels {
  readonly paper: Float64Array;
  readonly ink: Float64Array;
}

/** Cells around a cell that tell of its light, and of those the quantiles taken for paper and ink. */
const REACH = 5;
/** Every so many cells along a side are looked at; the rest lies between them. */
const STRIDE = 3;
/** A contrast below this is none. */
const LEAST_USUAL = 1;
const PAPER_QUANTILE = 0.7;
const INK_QUANTILE = 0.3;

/**
 * A first guess from the known cells nearby: where much is covered the quantiles leave that out, and
 * where all is covered, so that light and dark cells look alike, the surroundings stand in.
 */
export function localLevels(levels: Float64Array, known: Int8Array): Levels {
  const paper = new Float64Array(CELLS);
  const ink = new Float64Array(CELLS);
  const contrast = new Float64Array(CELLS).fill(Number.NaN);
  for (let cell = 0; cell < CELLS; cell++) {
    const [row, column] = [Math.floor(cell / GRID), cell % GRID];
    if (row % STRIDE !== STRIDE >> 1 || column % STRIDE !== STRIDE >> 1) continue;
    const light: number[] = [];
    const dark: number[] = [];
    for (let r = Math.max(0, row - REACH); r <= Math.min(GRID - 1, row + REACH); r++) {
      for (let c = Math.max(0, column - REACH); c <= Math.min(GRID - 1, column + REACH); c++) {
        const other = r * GRID + c;
        if (known[other] === LIGHT) light.push(levels[other] as number);
        else if (known[other] === DARK) dark.push(levels[other] as number);
      }
    }
    paper[cell] = quantile(light, PAPER_QUANTILE) ?? Number.NaN;
    ink[cell] = quantile(dark, INK_QUANTILE) ?? Number.NaN;
    contrast[cell] = (paper[cell] as number) - (ink[cell] as number);
  }
  const usual = Math.max(LEAST_USUAL, quantile(contrast.filter(Number.isFinite), 0.8) ?? Number.NaN);
  const weights = contrast.map((value) =>
    Number.isFinite(value) ? Math.min(1, Math.max(0, (value / usual - 0.3) / 0.4)) + 1e-3 : 0,
  );
  return {
    paper: smoothField(paper, weights, null),
    ink: smoothField(ink, weights, null),
  };
}

/** Anew, from the known cells as far as they are bare. */
export function relit(levels: Float64Array, known: Int8Array, covered: Float64Array, before: Levels): Levels {
  const weightsOf = (colour: number) =>
    Float64Array.from(covered, (hidden, cell) => (known[cell] === colour ? (1 - hidden) ** 2 : 0));
  const paper = smoothField(levels, weightsOf(LIGHT), before.paper);
  // Where no ink is seen, it is as much darker than the paper there as elsewhere.
  const inkWeights = weightsOf(DARK);
  let [ink, whole] = [0, 0];
  for (let cell = 0; cell < CELLS; cell++) {
    const weight = inkWeights[cell] as number;
    ink += weight * ((levels[cell] as number) / (paper[cell] as number));
    whole += weight;
  }
  const ratio = whole > 0 ? ink / whole : 0.3;
  return {
    paper,
    ink: smoothField(
      levels,
      inkWeights,
      paper.map((level) => ratio * level),
    ),
  };
}

const SMOOTH_CELLS = 3.5;
const KERNEL = Float64Array.from({ length: GRID }, (_, distance) =>
  Math.exp(-(distance ** 2) / (2 * SMOOTH_CELLS ** 2)),
);
/** What the field before is worth, in cells: it stands in where nothing is seen. */
const BEFORE_WEIGHT = 1.5;

/** A weighted mean of the values around every cell, Gaussian in distance. */
export function smoothField(
  values: Float64Array,
  weights: Float64Array,
  before: Float64Array | null,
): Float64Array {
  const products = Float64Array.from(values, (value, cell) =>
    (weights[cell] as number) > 0 ? value * (weights[cell] as number) : 0,
  );
  const above = spread(products);
  const below = spread(weights);
  return Float64Array.from(above, (sum, cell) =>
    before === null
      ? sum / Math.max(1e-12, below[cell] as number)
      : (sum + BEFORE_WEIGHT * (before[cell] as number)) / ((below[cell] as number) + BEFORE_WEIGHT),
  );
}

/** Convolved with the kernel along rows, then columns. */
function spread(values: Float64Array): Float64Array {
  let current = values;
  for (const step of [1, GRID]) {
    const next = new Float64Array(CELLS);
    for (let cell = 0; cell < CELLS; cell++) {
      const along = step === 1 ? cell % GRID : Math.floor(cell / GRID);
      let sum = 0;
      for (let other = 0; other < GRID; other++) {
        sum +=
          (KERNEL[Math.abs(other - along)] as number) * (current[cell + (other - along) * step] as number);
      }
      next[cell] = sum;
    }
    current = next;
  }
  return current;
}
