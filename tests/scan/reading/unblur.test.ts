/** Blur that was put on a grid is taken back, where nothing was known of the cells, too. */
import { expect, it } from 'vitest';
import { ALIKE } from '../../../src/scan/reading/alike.js';
import { GRID, LIGHT, VARYING } from '../../../src/scan/reading/tag-grid.js';
import { unblurred } from '../../../src/scan/reading/unblur.js';
import { seededRandom } from '../../support/random.js';
import { COLOURS, cellwise } from './two-colours.js';

const SHARP = cellwise((_row, _column, cell) => Number(COLOURS[cell] === LIGHT));
const BARE = cellwise(() => 0);

/** Each cell gives so much of itself to its four neighbours, and so much to the four across its corners. */
function blurred(toSides: number, toCorners: number): Float64Array {
  const within = (at: number): number => Math.min(GRID - 1, Math.max(0, at));
  const at = (row: number, column: number): number => SHARP[within(row) * GRID + within(column)] as number;
  return cellwise((row, column) => {
    const sides = at(row - 1, column) + at(row + 1, column) + at(row, column - 1) + at(row, column + 1);
    const corners =
      at(row - 1, column - 1) + at(row - 1, column + 1) + at(row + 1, column - 1) + at(row + 1, column + 1);
    return (1 - toSides - toCorners) * at(row, column) + (toSides / 4) * sides + (toCorners / 4) * corners;
  });
}

/** Root mean square by which cells are off that differ from tag to tag, of those bare. */
function off(shade: Float64Array, covered = BARE): number {
  let [squares, count] = [0, 0];
  shade.forEach((value, cell) => {
    if (ALIKE[cell] !== VARYING || covered[cell] === 1) return;
    squares += (value - (SHARP[cell] as number)) ** 2;
    count++;
  });
  return Math.sqrt(squares / count);
}

it.each([
  [0.2, 0],
  [0.4, 0],
  [0.3, 0.1],
])('%f to the sides and %f across the corners: half of it at least', (toSides, toCorners) => {
  const before = blurred(toSides, toCorners);
  expect(off(before)).toBeGreaterThan(0.1);
  expect(off(unblurred(before, ALIKE, BARE))).toBeLessThan(off(before) / 2);
});

it.each([
  [0, 0, 0.2],
  [0.2, 0, 0.15],
  [0.3, 0.1, 0.2],
])('%f, %f and noise of %f: neighbours of the other colour are not mixed in', (toSides, toCorners, noise) => {
  const random = seededRandom(5);
  for (let grid = 0; grid < 5; grid++) {
    const before = blurred(toSides, toCorners).map((shade) => shade + noise * random.normal());
    expect(off(unblurred(before, ALIKE, BARE))).toBeLessThan(1.05 * off(before));
  }
});

it('what is covered is not learnt from', () => {
  const covered = cellwise((row) => Number(row > 20));
  const muddy = blurred(0.3, 0.1).map((value, cell) => (covered[cell] === 1 ? 0.5 : value));
  const beside = cellwise((row) => Number(row > 19));
  expect(off(unblurred(muddy, ALIKE, covered), beside)).toBeLessThan(off(muddy, beside) / 3);
});

it('what is sharp stays so', () => {
  expect(off(unblurred(SHARP, ALIKE, BARE))).toBeLessThan(1e-9);
});
