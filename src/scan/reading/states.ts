/**
 * How likely a cell's measures are of bare ink, of bare paper, and of what covers the tag, learnt from
 * the known cells and how far each is thought to be covered.
 */
import { CELLS, DARK, LIGHT, VARYING } from './tag-grid.js';

export interface States {
  /** Per cell, log density of its measures, were it bare ink, bare paper, or covered. */
  readonly logInk: Float64Array;
  readonly logPaper: Float64Array;
  readonly logCover: Float64Array;
}

/** A measure: its value in each cell, what it is for ink and paper, and the range it can take. */
interface Measure {
  readonly values: Float64Array;
  readonly ink: number;
  readonly paper: number;
  readonly from: number;
  readonly to: number;
  /** Usual and least standard deviation of bare cells; and width of the kernel for covered ones. */
  readonly usual: number;
  readonly least: number;
  readonly kernel: number;
}

/** Share of bare cells that look like anything at all: specks, edges of mud, pixels gone wrong. */
const ODD_SHARE = 0.03;
/** What is assumed is worth so many cells beside those seen. */
const USUAL_CELLS = 6;
const EVEN_CELLS = 8;
/** Covered cells that the density is built of, at most. */
const MOST_SAMPLES = 120;
const ROOT_TAU = Math.sqrt(2 * Math.PI);

const shadeMeasure = (values: Float64Array): Measure => ({
  values,
  ink: 0,
  paper: 1,
  from: -0.6,
  to: 1.6,
  usual: 0.1,
  least: 0.05,
  kernel: 0.06,
});

const otherMeasure = (values: Float64Array): Measure => ({
  values,
  ink: 0,
  paper: 0,
  from: -0.25,
  to: 0.25,
  usual: 0.03,
  least: 0.012,
  kernel: 0.025,
});

const blindedMeasure = (values: Float64Array): Measure => ({
  values,
  ink: 0,
  paper: 0,
  from: 0,
  to: 1,
  usual: 0.15,
  least: 0.1,
  kernel: 0.1,
});

/** @param others as `CellMeasures.others`: blinded first, then colours */
export function learnStates(
  shade: Float64Array,
  others: readonly Float64Array[],
  known: Int8Array,
  covered: Float64Array,
): States {
  const [blinded, ...colours] = others as [Float64Array, ...Float64Array[]];
  const measures = [shadeMeasure(shade), blindedMeasure(blinded), ...colours.map(otherMeasure)];
  const even = measures.reduce((product, { from, to }) => product / (to - from), 1);
  const logBare = (colour: typeof LIGHT | typeof DARK) => {
    const bare = measures.map((measure) => learnBare(measure, colour, known, covered));
    return Float64Array.from({ length: CELLS }, (_, cell) => {
      let exponent = 0;
      let scale = 1;
      measures.forEach(({ values }, index) => {
        const { mean, spread } = bare[index] as Bare;
        exponent -= ((values[cell] as number) - mean) ** 2 / (2 * spread * spread);
        scale /= spread * ROOT_TAU;
      });
      return Math.log(ODD_SHARE * even + (1 - ODD_SHARE) * scale * Math.exp(exponent));
    });
  };
  return {
    logInk: logBare(DARK),
    logPaper: logBare(LIGHT),
    logCover: logCoverOf(measures, even, known, covered),
  };
}

interface Bare {
  readonly mean: number;
  readonly spread: number;
}

/** Mean and standard deviation of a measure over bare known cells of a colour; the shade's means are fixed. */
function learnBare(measure: Measure, colour: number, known: Int8Array, covered: Float64Array): Bare {
  const { values, ink, paper, usual, least } = measure;
  const expected = colour === LIGHT ? paper : ink;
  let [weight, sum, squares] = [0, 0, 0];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] !== colour) continue;
    const bareness = 1 - (covered[cell] as number);
    const off = (values[cell] as number) - expected;
    weight += bareness;
    sum += bareness * off;
    squares += bareness * off * off;
  }
  const shift = ink === paper ? sum / (weight + USUAL_CELLS) : 0;
  const variance =
    (squares - shift * (2 * sum - weight * shift) + USUAL_CELLS * usual * usual) / (weight + USUAL_CELLS);
  return { mean: expected + shift, spread: Math.max(least, Math.sqrt(variance)) };
}

/** A kernel density of the known cells that are covered, over an even ground. */
function logCoverOf(
  measures: readonly Measure[],
  even: number,
  known: Int8Array,
  covered: Float64Array,
): Float64Array {
  const samples: number[] = [];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] !== VARYING && (covered[cell] as number) > 0.3) samples.push(cell);
  }
  const stride = Math.max(1, Math.ceil(samples.length / MOST_SAMPLES));
  const chosen = samples.filter((_, index) => index % stride === 0);
  const scale = measures.reduce((product, { kernel }) => product / (kernel * ROOT_TAU), 1);
  const total = chosen.reduce((sum, cell) => sum + (covered[cell] as number), 0);
  return Float64Array.from({ length: CELLS }, (_, cell) => {
    let density = 0;
    for (const sample of chosen) {
      let exponent = 0;
      for (const { values, kernel } of measures) {
        const off = ((values[cell] as number) - (values[sample] as number)) / kernel;
        exponent -= off * off;
      }
      if (exponent > -30) density += (covered[sample] as number) * scale * Math.exp(exponent / 2);
    }
    return Math.log((density + EVEN_CELLS * even) / (total + EVEN_CELLS));
  });
}
