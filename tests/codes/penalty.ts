/** Penalty of a symbol for choosing its mask (ISO/IEC 18004, 7.8.3), written anew from the standard. */
import type { BitMatrix } from '../../src/codes/bit-matrix.js';

/** Runs of a row or column, modules of one colour side by side: N1 = 3 for five and 1 for each more. */
const N1 = 3;
/** Each block of 2 × 2 of one colour. */
const N2 = 3;
/** Each 1:1:3:1:1 with four light modules before or after it. */
const N3 = 40;
/** Each step of 5 % by which the dark share departs from a half. */
const N4 = 10;

const FINDER_LIKE = ['10111010000', '00001011101'];

export function penalty(matrix: BitMatrix): number {
  const { size } = matrix;
  const indices = Array.from({ length: size }, (_, index) => index);
  const rows = indices.map((row) => indices.map((column) => (matrix.dark(row, column) ? '1' : '0')).join(''));
  const columns = indices.map((column) => rows.map((row) => row.charAt(column)).join(''));
  const lines = [...rows, ...columns];
  let sum = 0;
  for (const line of lines) {
    for (const [run] of line.matchAll(/0{5,}|1{5,}/g)) sum += N1 + run.length - 5;
    for (let at = 0; at + 11 <= size; at++) if (FINDER_LIKE.includes(line.slice(at, at + 11))) sum += N3;
  }
  for (let row = 0; row + 1 < size; row++) {
    for (let column = 0; column + 1 < size; column++) {
      const block =
        (rows[row] ?? '').slice(column, column + 2) + (rows[row + 1] ?? '').slice(column, column + 2);
      if (block === '0000' || block === '1111') sum += N2;
    }
  }
  const dark = rows.join('').replaceAll('0', '').length / (size * size);
  return sum + N4 * Math.floor(Math.abs(dark - 0.5) / 0.05);
}
