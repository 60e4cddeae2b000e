/**
 * Which cells are covered: what lies on a tag lies on patches of it, so a cell's neighbours tell of it.
 * A Markov random field over the grid (Ising's), solved by loopy belief propagation.
 */
import { CELLS, GRID } from './tag-grid.js';

/** Log-odds that a cell is covered before anything is seen. */
const PRIOR = Math.log(0.12 / 0.88);
/** How much likelier two neighbours are alike than not, as a logarithm. */
const COUPLING = 1.3;
const EXP_COUPLING = Math.exp(COUPLING);

/** Messages to each cell from above, below, left and right, as log-odds of being covered. */
export interface Messages {
  readonly fromAbove: Float64Array;
  readonly fromBelow: Float64Array;
  readonly fromLeft: Float64Array;
  readonly fromRight: Float64Array;
}

export function noMessages(): Messages {
  const [fromAbove, fromBelow, fromLeft, fromRight] = [0, 1, 2, 3].map(() => new Float64Array(CELLS)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  return { fromAbove, fromBelow, fromLeft, fromRight };
}

/** A cell's log-odds by its prior and what its neighbours tell it. */
function heard({ fromAbove, fromBelow, fromLeft, fromRight }: Messages, cell: number): number {
  return (
    PRIOR +
    (fromAbove[cell] as number) +
    (fromBelow[cell] as number) +
    (fromLeft[cell] as number) +
    (fromRight[cell] as number)
  );
}

/** @param logOdds per cell, the log of P(seen | covered) : P(seen | bare); changes `messages` */
export function propagate(logOdds: Float64Array, messages: Messages, sweeps: number): void {
  const { fromAbove, fromBelow, fromLeft, fromRight } = messages;
  for (let sweep = 0; sweep < sweeps; sweep++) {
    const isForward = sweep % 2 === 0;
    for (let step = 0; step < CELLS; step++) {
      const cell = isForward ? step : CELLS - 1 - step;
      const row = (cell / GRID) | 0;
      const column = cell - row * GRID;
      const total = heard(messages, cell) + (logOdds[cell] as number);
      if (row + 1 < GRID) fromAbove[cell + GRID] = passed(total - (fromBelow[cell] as number));
      if (row > 0) fromBelow[cell - GRID] = passed(total - (fromAbove[cell] as number));
      if (column + 1 < GRID) fromLeft[cell + 1] = passed(total - (fromRight[cell] as number));
      if (column > 0) fromRight[cell - 1] = passed(total - (fromLeft[cell] as number));
    }
  }
}

/** Log-odds of one neighbour by those of the other: 2 artanh(tanh(J/2) tanh(x/2)), written with fewer calls. */
function exactlyPassed(logOdds: number): number {
  const ratio = Math.exp(logOdds);
  return Math.log((EXP_COUPLING * ratio + 1) / (EXP_COUPLING + ratio));
}

/** Where odds are as good as certain, what is passed hardly changes any more: by 2e-6 beyond this. */
const CERTAIN = 16;
const STEPS_A_UNIT = 64;
const PASSED = Float64Array.from({ length: 2 * CERTAIN * STEPS_A_UNIT + 2 }, (_, step) =>
  exactlyPassed(step / STEPS_A_UNIT - CERTAIN),
);

/** By a table, with straight lines between its values: within 1e-5, in a fifth of the time. */
function passed(logOdds: number): number {
  const place = (Math.min(CERTAIN, Math.max(-CERTAIN, logOdds)) + CERTAIN) * STEPS_A_UNIT;
  const step = place | 0;
  const before = PASSED[step] as number;
  return before + (place - step) * ((PASSED[step + 1] as number) - before);
}

/** Probability that each cell is covered; without `logOdds`, by its neighbours alone. */
export function beliefs(messages: Messages, logOdds: Float64Array | null): Float64Array {
  return Float64Array.from({ length: CELLS }, (_, cell) => {
    const total = heard(messages, cell) + (logOdds === null ? 0 : (logOdds[cell] as number));
    return 1 / (1 + Math.exp(-total));
  });
}

/**
 * Bethe's approximation of the log of the probability of all that is seen, summed over what may be
 * covered; up to a constant of the grid, so that only differences mean something.
 * @param logBare per cell, the log of P(seen | bare)
 */
export function logEvidence(logOdds: Float64Array, logBare: Float64Array, messages: Messages): number {
  const { fromAbove, fromBelow, fromLeft, fromRight } = messages;
  let sum = 0;
  for (let cell = 0; cell < CELLS; cell++) {
    const row = (cell / GRID) | 0;
    const column = cell - row * GRID;
    const own = logOdds[cell] as number;
    const total = heard(messages, cell) + own;
    const neighbours =
      Number(row > 0) + Number(row + 1 < GRID) + Number(column > 0) + Number(column + 1 < GRID);
    sum += (logBare[cell] as number) + own / 2 - (neighbours - 1) * logSum(total);
    if (row + 1 < GRID) {
      const below = cell + GRID;
      const there = heard(messages, below) + (logOdds[below] as number);
      sum += pairTerm(total - (fromBelow[cell] as number), there - (fromAbove[below] as number));
    }
    if (column + 1 < GRID) {
      const right = cell + 1;
      const there = heard(messages, right) + (logOdds[right] as number);
      sum += pairTerm(total - (fromRight[cell] as number), there - (fromLeft[right] as number));
    }
  }
  return sum;
}

/** log(e^(x/2) + e^(-x/2)). */
const logSum = (logOdds: number): number => Math.abs(logOdds) / 2 + Math.log1p(Math.exp(-Math.abs(logOdds)));

/** The log of the sum over both cells of a pair, each with the log-odds it has without the other. */
function pairTerm(one: number, other: number): number {
  const alike = COUPLING / 2 + logSum(one + other);
  const unlike = -COUPLING / 2 + logSum(one - other);
  const top = Math.max(alike, unlike);
  return top + Math.log(Math.exp(alike - top) + Math.exp(unlike - top));
}
