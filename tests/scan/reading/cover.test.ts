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

it('three free cells amid surely bare ones are as likely as the sum over what may be covered', () => {
  // Without loops, Bethe's approximation and what is believed are exact: all eight states are summed by hand.
  const [prior, coupling] = [Math.log(0.12 / 0.88), 1.3];
  const free = [0.4, 3.5, 2.1];
  const cells = [14, 15, 16].map((column) => 15 * GRID + column);
  const logBare = new Float64Array(CELLS);
  const bare = new Float64Array(CELLS).fill(-40);
  const odds = bare.slice();
  cells.forEach((cell, index) => {
    odds[cell] = free[index] as number;
  });
  let total = 0;
  const coveredTotal = [0, 0, 0];
  for (let state = 0; state < 8; state++) {
    // With the bare cells at both ends; above and below each cell lie two more.
    const isCovered = [false, ...free.map((_, index) => ((state >> index) & 1) === 1), false];
    let log = 0;
    for (let at = 1; at <= 3; at++) if (isCovered[at]) log += prior + (free[at - 1] as number) - 2 * coupling;
    for (let at = 1; at <= 4; at++) if (isCovered[at] !== isCovered[at - 1]) log -= coupling;
    total += Math.exp(log);
    coveredTotal.forEach((sum, index) => {
      if (isCovered[index + 1]) coveredTotal[index] = sum + Math.exp(log);
    });
  }
  const evidence = (of: Float64Array): number => {
    const messages = noMessages();
    propagate(of, messages, 20);
    return logEvidence(of, logBare, messages);
  };
  expect(evidence(odds) - evidence(bare)).toBeCloseTo(Math.log(total), 4);
  const messages = noMessages();
  propagate(odds, messages, 20);
  const seen = beliefs(messages, odds);
  cells.forEach((cell, index) => {
    expect(seen[cell]).toBeCloseTo((coveredTotal[index] as number) / total, 4);
  });
});
