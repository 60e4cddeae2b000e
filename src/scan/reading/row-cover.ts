/** Which samples of a printed row are covered: by their colour, by being blinded, or wider than any stroke. */
import { quantile } from './numbers.js';
import type { RowStrips } from './row-strips.js';

/** Levels from here on may be those of a blinded sensor: where even paper is as bright, nobody can tell glare from it. */
const BLINDED = 252;
/** Ink wider and higher than this, in samples, is no stroke. */
const SOLID = 7;
const SOLID_INK = 0.45;
/** Brighter than paper by so much of its contrast to ink is glare. */
const GLARE = -0.35;
/** Least difference from the paper's tint that is another colour, as a share of full scale; and in deviations. */
const LEAST_TINT = 0.045;
const TINT_DEVIATIONS = 5;
/** What lies on a row lies on patches of it. */
const REACH = 2;
const BARE_AT_LEAST = 0.03;
const COVERED_AT_MOST = 0.97;

/** Per sample, the probability that it is covered. @param ink of each sample, from 0, paper, to 1 */
export function coverOf(ink: Float32Array, strips: RowStrips): Float32Array {
  const { columns, gray } = strips;
  const rows = ink.length / columns;
  const odd = solid(ink, columns, rows);
  for (let at = 0; at < ink.length; at++) {
    if ((ink[at] as number) < GLARE || (gray[at] as number) >= BLINDED) odd[at] = 1;
  }
  for (const colour of strips.colours) {
    const off = offTint(colour, gray, ink);
    // Of normal deviations half are below 0.67 standard deviations.
    const usual = (quantile(off.map(Math.abs), 0.5) ?? 0) / 0.67;
    const most = Math.max(LEAST_TINT, Math.min(TINT_DEVIATIONS * usual, 2 * LEAST_TINT));
    off.forEach((value, at) => {
      if (Math.abs(value) > most) odd[at] = 1;
    });
  }
  const near = boxMean(odd, columns, rows, REACH);
  return near.map((share, at) =>
    Math.min(COVERED_AT_MOST, Math.max(BARE_AT_LEAST, share * 1.3 - 0.1, 0.8 * (odd[at] as number) * share)),
  );
}

/** Squares that are dark all over. */
function solid(ink: Float32Array, columns: number, rows: number): Float32Array {
  const marks = new Float32Array(ink.length);
  for (let row = 0; row + SOLID <= rows; row++) {
    for (let column = 0; column + SOLID <= columns; column++) {
      let isSolid = true;
      for (let y = row; isSolid && y < row + SOLID; y++) {
        for (let x = column; isSolid && x < column + SOLID; x++) {
          isSolid = (ink[y * columns + x] as number) > SOLID_INK;
        }
      }
      if (!isSolid) continue;
      for (let y = row; y < row + SOLID; y++) {
        marks.fill(1, y * columns + column, y * columns + column + SOLID);
      }
    }
  }
  return marks;
}

/** Colour less what the tint of the paper, and of the light on it, gives a sample of this level. */
function offTint(colour: Float32Array, gray: Float32Array, ink: Float32Array): Float32Array {
  const tints = [...colour].flatMap((value, at) =>
    (ink[at] as number) < 0.3 ? [value / Math.max(1, gray[at] as number)] : [],
  );
  const tint = quantile(tints, 0.5) ?? 0;
  return colour.map((value, at) => (value - tint * (gray[at] as number)) / 255);
}

function boxMean(values: Float32Array, columns: number, rows: number, reach: number): Float32Array {
  return values.map((_, at) => {
    const [row, column] = [Math.floor(at / columns), at % columns];
    let [sum, count] = [0, 0];
    for (let y = Math.max(0, row - reach); y <= Math.min(rows - 1, row + reach); y++) {
      for (let x = Math.max(0, column - reach); x <= Math.min(columns - 1, column + reach); x++) {
        sum += values[y * columns + x] as number;
        count++;
      }
    }
    return sum / count;
  });
}
