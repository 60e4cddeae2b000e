/** The levels of paper and ink are found that a grid was shaded with. */
import { describe, expect, it } from 'vitest';
import { ALIKE } from '../../../src/scan/reading/alike.js';
import { localLevels, relit } from '../../../src/scan/reading/light.js';
import { GRID, LIGHT } from '../../../src/scan/reading/tag-grid.js';
import { COLOURS, cellwise } from './two-colours.js';

/** Ink has this share of the paper's level in any light. */
const INK_RATIO = 0.25;
const COVER = 110;
const BARE = cellwise(() => 0);
/** A quarter of the grid, about a corner. */
const CORNER = cellwise((row, column) => Number(row >= 16 && column >= 16));

function lit(paper: Float64Array, covered: Float64Array) {
  const levels = paper.map((level, cell) => {
    if (covered[cell] === 1) return COVER;
    return COLOURS[cell] === LIGHT ? level : INK_RATIO * level;
  });
  const first = localLevels(levels, ALIKE);
  return { first, second: relit(levels, ALIKE, covered, first) };
}

/** The most that a level is off where the grid is bare. */
function worst(found: Float64Array, expected: Float64Array, covered: Float64Array): number {
  return Math.max(
    ...found.map((level, cell) => (covered[cell] === 1 ? 0 : Math.abs(level - (expected[cell] as number)))),
  );
}

it('in even light they are found exactly, and beside mud nearly', () => {
  const paper = cellwise(() => 180);
  const ink = cellwise(() => 180 * INK_RATIO);
  for (const light of Object.values(lit(paper, BARE))) {
    expect(worst(light.paper, paper, BARE)).toBeLessThan(1e-6);
    expect(worst(light.ink, ink, BARE)).toBeLessThan(1e-6);
  }
  const { first, second } = lit(paper, CORNER);
  // 2.2 and 0.24 levels of a contrast of 135, measured.
  for (const field of ['paper', 'ink'] as const) {
    expect(worst(first[field], { paper, ink }[field], CORNER)).toBeLessThan(3);
    expect(worst(second[field], { paper, ink }[field], CORNER)).toBeLessThan(0.5);
  }
});

describe.each([
  [2, 0],
  [0, -2],
  [1.5, 1.5],
])('where the light changes by %f levels a column and %f a row', (across, down) => {
  const paper = cellwise((row, column) => 180 + across * (column - 15) + down * (row - 15));
  const ink = paper.map((level) => INK_RATIO * level);

  it.each([
    ['bare', BARE],
    ['muddy about a corner', CORNER],
  ])('on a grid that is %s', (_name, covered) => {
    const { first, second } = lit(paper, covered);
    // As paper differs by 60 to 90 levels over the grid and fields are smooth, they lag at its edges: by 15 levels at first,
    // and by 10 then, measured.
    expect(worst(first.paper, paper, covered)).toBeLessThan(18);
    expect(worst(first.ink, ink, covered)).toBeLessThan(5);
    expect(worst(second.paper, paper, covered)).toBeLessThan(12);
    expect(worst(second.ink, ink, covered)).toBeLessThan(3);
  });
});

it('under mud ink is as much darker than paper as elsewhere', () => {
  const { second } = lit(
    cellwise(() => 180),
    CORNER,
  );
  const farthest = GRID * GRID - 1;
  const ratio = (second.ink[farthest] as number) / (second.paper[farthest] as number);
  expect(ratio).toBeCloseTo(INK_RATIO, 2);
});
