/**
 * Takes back what a soft lens spreads from each cell to its neighbours: the linear filter over a cell and
 * its eight neighbours that brings the known cells nearest to their colour (Wiener's filter, learnt from
 * the picture itself).
 */
import { solveSymmetric } from './solve.js';
import { CELLS, GRID, LIGHT, VARYING } from './tag-grid.js';

/** Ridge that holds the filter at "leave as it is" where little is seen, in cells. */
const RIDGE = [1, 1, 0.3, 0.3] as const;
const TERMS = RIDGE.length;

export function unblurred(shade: Float64Array, known: Int8Array, covered: Float64Array): Float64Array {
  const lower = new Float64Array(TERMS * TERMS);
  const right = new Float64Array(TERMS);
  const rows = Array.from(shade, (value, cell) => [1, value - 0.5, ...differences(shade, cell)]);
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] === VARYING) continue;
    const weight = (1 - (covered[cell] as number)) ** 2;
    const row = rows[cell] as number[];
    const error = (known[cell] === LIGHT ? 1 : 0) - (shade[cell] as number);
    for (let a = 0; a < TERMS; a++) {
      right[a] = (right[a] as number) + weight * (row[a] as number) * error;
      for (let b = 0; b <= a; b++) {
        const at = TERMS * a + b;
        lower[at] = (lower[at] as number) + weight * (row[a] as number) * (row[b] as number);
      }
    }
  }
  RIDGE.forEach((ridge, a) => {
    lower[TERMS * a + a] = (lower[TERMS * a + a] as number) + ridge;
  });
  const change = solveSymmetric(lower, right, 0);
  if (change === null) return shade;
  return shade.map((value, cell) => {
    const row = rows[cell] as number[];
    return row.reduce((sum, term, a) => sum + term * (change[a] as number), value);
  });
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
