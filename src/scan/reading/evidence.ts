/**
 * From a squared-up picture to what is seen in each cell: how likely that would be of ink, of paper, or
 * of mud, glare or whatever else lies on the tag. All three are learnt from the cells whose colour is
 * known beforehand, by turns with where the tag is covered.
 */
import { beliefs, noMessages, propagate } from './cover.js';
import { type CellMeasures, measureCells } from './features.js';
import { type Levels, localLevels, relit } from './light.js';
import type { ColourPlanes } from './plane.js';
import type { Pose } from './pose.js';
import { learnStates, type States } from './states.js';
import { CELLS, DARK, LIGHT } from './tag-grid.js';
import { unblurred } from './unblur.js';

export interface Evidence extends States {
  /** As `CellMeasures.others`. */
  readonly others: readonly Float64Array[];
  /** Per cell: 0 as ink, 1 as paper. */
  readonly shade: Float64Array;
  /** Per cell: probability that it is covered. */
  readonly covered: Float64Array;
  /** Per cell: log of P(seen | dark) : P(seen | light), covered or not. */
  readonly logRatio: Float64Array;
  /** Of bare paper and ink, in grey levels: the mean over all cells. */
  readonly contrast: number;
}

const ROUNDS = 4;
const SWEEPS = 8;
const COVERED_AT_FIRST = 0.2;
/** Below this contrast, in grey levels, nothing is told from anything. */
const LEAST_CONTRAST = 4;

/** @param known `LIGHT`, `DARK` or `VARYING` for every cell */
export function evidenceOf(planes: ColourPlanes, pose: Pose, known: Int8Array): Evidence {
  return evidenceOfCells(measureCells(planes, pose, known), known);
}

/** As `evidenceOf`, of cells that were measured already. */
export function evidenceOfCells({ levels, others }: CellMeasures, known: Int8Array): Evidence {
  let light = localLevels(levels, known);
  let covered = guessCover(shadeOf(levels, light), known);
  const logOdds = new Float64Array(CELLS);
  const messages = noMessages();
  for (let round = 1; ; round++) {
    light = relit(levels, known, covered, light);
    const shade = unblurred(shadeOf(levels, light), known, covered);
    const states = learnStates(shade, others, known, covered);
    for (let cell = 0; cell < CELLS; cell++) {
      logOdds[cell] = (states.logCover[cell] as number) - logBareOf(states, known, cell);
    }
    propagate(logOdds, messages, SWEEPS);
    covered = beliefs(messages, logOdds);
    if (round === ROUNDS) {
      const logRatio = logRatioOf(states, beliefs(messages, null));
      return { ...states, others, shade, covered, logRatio, contrast: meanContrast(light) };
    }
  }
}

function shadeOf(levels: Float64Array, { paper, ink }: Levels): Float64Array {
  return levels.map(
    (level, cell) =>
      (level - (ink[cell] as number)) /
      Math.max(LEAST_CONTRAST, (paper[cell] as number) - (ink[cell] as number)),
  );
}

function meanContrast({ paper, ink }: Levels): number {
  return paper.reduce((sum, level, cell) => sum + level - (ink[cell] as number), 0) / CELLS;
}

/** A known cell that looks nothing like its colour is covered. */
function guessCover(shade: Float64Array, known: Int8Array): Float64Array {
  return shade.map((value, cell) => {
    const off = known[cell] === LIGHT ? value - 1 : known[cell] === DARK ? value : 0;
    return Math.abs(off) > 0.35 ? 0.9 : COVERED_AT_FIRST;
  });
}

function logBareOf({ logInk, logPaper }: States, known: Int8Array, cell: number): number {
  const [ink, paper] = [logInk[cell] as number, logPaper[cell] as number];
  if (known[cell] === LIGHT) return paper;
  return known[cell] === DARK ? ink : Math.log((Math.exp(ink) + Math.exp(paper)) / 2);
}

/** @param hidden per cell, how likely it is covered by its neighbours alone */
function logRatioOf({ logInk, logPaper, logCover }: States, hidden: Float64Array): Float64Array {
  return hidden.map((share, cell) => {
    const veil = share * Math.exp(logCover[cell] as number);
    const dark = veil + (1 - share) * Math.exp(logInk[cell] as number);
    return Math.log(dark / (veil + (1 - share) * Math.exp(logPaper[cell] as number)));
  });
}
