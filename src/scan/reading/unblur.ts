/**
 * Takes back what a soft lens spreads from each cell to its neighbours: the linear filter over a cell and
 * its eight neighbours that brings the known cells nearest to their colour (Wiener's filter, learnt from
 * the picture itself).
 */
import { solveSymmetric } from './solve.js';
import { CELLS, GRID, LIGHT, VARYING } from './tag-grid.js';

/**
 * What a change of a cell may depend on: nothing, its own shade, its difference from the four at its sides, and from
 * those across its corners; with the ridge, in cells, that holds each at "leave as it is" where little is seen.
 */
const TERMS = [
  { ridge: 1, isSpread: false },
  { ridge: 1, isSpread: false },
  { ridge: 0.3, isSpread: true },
  { ridge: 0.3, isSpread: true },
] as const;
const SIDES = 2;
const CORNERS = 3;
/** The first of these that takes back blur and adds none is taken. */
const CHOICES = [
  [0, 1, SIDES, CORNERS],
  [0, 1, SIDES],
  [0, 1, CORNERS],
  [0, 1],
] as const;

/**
 * Most known cells lie among cells of their own colour, and in noise would teach to average over neighbours, which
 * blurs the others: so a filter is to sharpen or to leave cells as they are.
 */
export function unblurred(shade: Float64Array, known: Int8Array, covered: Float64Array): Float64Array {
  const rows = Array.from(shade, (value, cell) => [1, value - 0.5, ...differences(shade, cell)]);
  for (const terms of CHOICES) {
    const change = fitted(shade, rows, known, covered, terms);
    if (change === null) return shade;
    if (terms.some((term, at) => TERMS[term].isSpread && (change[at] as number) < 0)) continue;
    return shade.map((value, cell) => {
      const row = rows[cell] as number[];
      return terms.reduce((sum, term, at) => sum + (row[term] as number) * (change[at] as number), value);
    });
  }
  return shade;
}

/** The change by these terms that brings the known cells nearest to their colour, as far as they are bare. */
function fitted(
  shade: Float64Array,
  rows: readonly (readonly number[])[],
  known: Int8Array,
  covered: Float64Array,
  terms: readonly (0 | 1 | 2 | 3)[],
): Float64Array | null {
  const size = terms.length;
  const lower = new Float64Array(size * size);
  const right = new Float64Array(size);
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] === VARYING) continue;
    const weight = (1 - (covered[cell] as number)) ** 2;
    const row = terms.map((term) => (rows[cell] as readonly number[])[term] as number);
    const error = (known[cell] === LIGHT ? 1 : 0) - (shade[cell] as number);
    for (let a = 0; a < size; a++) {
      right[a] = (right[a] as number) + weight * (row[a] as number) * error;
      for (let b = 0; b <= a; b++) {
        const at = size * a + b;
        lower[at] = (lower[at] as number) + weight * (row[a] as number) * (row[b] as number);
      }
    }
  }
  terms.forEach((term, a) => {
    lower[size * a + a] = (lower[size * a + a] as number) + TERMS[term].ridge;
  });
  return solveSymmetric(lower, right, 0);
}

/** A cell's shade less the mean of its four neighbours, and less that of the four across its corners. */
function differences(shade: Float64Array, cell: number): [number, number] {
  const row = (cell / GRID) | 0;
  const column = cell - row * GRID;
  const at = (dr: number, dc: number): number => {
    const r = Math.min(GRID - 1, Math.max(0, row + dr));
    const c = Math.min(GRID - 1, Math.max(0, column + dc));
    return shade[r * GRID + c] as number;
  };
  const own = shade[cell] as number;
  return [
    own - (at(-1, 0) + at(1, 0) + at(0, -1) + at(0, 1)) / 4,
    own - (at(-1, -1) + at(-1, 1) + at(1, -1) + at(1, 1)) / 4,
  ];
}
