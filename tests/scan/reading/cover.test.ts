/** Which cells are believed covered; small cases whose answer is known without the program. */
import { expect, it } from 'vitest';
import { beliefs, logEvidence, noMessages, propagate } from '../../../src/scan/reading/cover.js';
import { CELLS, GRID } from '../../../src/scan/reading/tag-grid.js';

function believed(oddsOf: (row: number, column: number) => number): Float64Array {
  const odds = Float64Array.from({ length: CELLS }, (_, cell) =>
    oddsOf(Math.floor(cell / GRID), cell % GRID),
  );
  const messages = noMessages();
  propagate(odds, messages, 20);
  return beliefs(messages, odds);
}

it('a cell that tells nothing is believed as its neighbours are', () => {
  const middle = 15 * GRID + 15;
  const isMiddle = (row: number, column: number) => row === 15 && column === 15;
  const amidMud = believed((row, column) => (isMiddle(row, column) ? 0 : 4));
  const amidBare = believed((row, column) => (isMiddle(row, column) ? 0 : -4));
  expect(amidMud[middle]).toBeGreaterThan(0.9);
  expect(amidBare[middle]).toBeLessThan(0.05);
});

it('a lone odd cell amid bare ones is taken for a speck, a patch of them for mud', () => {
  const lone = believed((row, column) => (row === 15 && column === 15 ? 3 : -3));
  const patch = believed((row, column) => (Math.abs(row - 15) < 3 && Math.abs(column - 15) < 3 ? 3 : -3));
  expect(lone[15 * GRID + 15]).toBeLessThan(0.5);
  expect(patch[15 * GRID + 15]).toBeGreaterThan(0.99);
});

it('evidence is what each cell adds: a change in one bare cell changes the whole by as much', () => {
  // Where all cells are surely bare, what is seen is the product over the cells.
  const odds = new Float64Array(CELLS).fill(-40);
  const logBare = new Float64Array(CELLS).fill(-1);
  const messages = noMessages();
  propagate(odds, messages, 20);
  const before = logEvidence(odds, logBare, messages);
  logBare[100] = -3.5;
  expect(logEvidence(odds, logBare, messages) - before).toBeCloseTo(-2.5, 9);
});
