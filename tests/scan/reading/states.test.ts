/** Densities that are learnt, against those that the cells were drawn from. */
import { expect, it } from 'vitest';
import { ALIKE } from '../../../src/scan/reading/alike.js';
import { learnStates } from '../../../src/scan/reading/states.js';
import { DARK, LIGHT, VARYING } from '../../../src/scan/reading/tag-grid.js';
import { cellwise } from './two-colours.js';

const SPREAD = { ink: 0.08, paper: 0.15 };
const NONE = cellwise(() => 0);
const VARYING_CELLS = [...ALIKE.keys()].filter((cell) => ALIKE[cell] === VARYING);

/** Known cells lie a standard deviation above and below their colour by turns; the others go over all shades. */
const SHADE = (() => {
  const shade = new Float64Array(NONE.length);
  let [lights, darks] = [0, 0];
  ALIKE.forEach((colour, cell) => {
    if (colour === LIGHT) shade[cell] = 1 + (lights++ % 2 === 0 ? 1 : -1) * SPREAD.paper;
    if (colour === DARK) shade[cell] = (darks++ % 2 === 0 ? 1 : -1) * SPREAD.ink;
  });
  VARYING_CELLS.forEach((cell, index) => {
    shade[cell] = -0.5 + (2 * index) / (VARYING_CELLS.length - 1);
  });
  return shade;
})();

const logNormal = (value: number, mean: number, spread: number): number =>
  -(((value - mean) / spread) ** 2) / 2 - Math.log(spread);

/** Cells that differ from tag to tag, with shades within so many deviations of a colour's mean. */
const near = (mean: number, spread: number): number[] =>
  VARYING_CELLS.filter((cell) => Math.abs((SHADE[cell] as number) - mean) < 2 * spread);
const LIKE_INK = near(0, SPREAD.ink);
const LIKE_PAPER = near(1, SPREAD.paper);

it('bare ink and paper are as likely at each shade as by the normal distributions of the known cells', () => {
  const { logInk, logPaper } = learnStates(SHADE, [NONE], ALIKE, NONE);
  // What is seen beside shades is nought in every cell, and adds the same to all.
  const less = [
    ...LIKE_INK.map((cell) => (logInk[cell] as number) - logNormal(SHADE[cell] as number, 0, SPREAD.ink)),
    ...LIKE_PAPER.map(
      (cell) => (logPaper[cell] as number) - logNormal(SHADE[cell] as number, 1, SPREAD.paper),
    ),
  ];
  expect(less.length).toBeGreaterThan(60);
  // What is assumed beside the known cells, and the share of odd cells, come to 0.06 at most.
  expect(Math.max(...less) - Math.min(...less)).toBeLessThan(0.1);
});

it('however far off a shade is, it is as odd as any other', () => {
  const { logPaper } = learnStates(SHADE, [NONE], ALIKE, NONE);
  const far = VARYING_CELLS.filter((cell) => (SHADE[cell] as number) < 1 - 7 * SPREAD.paper);
  const odd = far.map((cell) => logPaper[cell] as number);
  expect(far.length).toBeGreaterThan(30);
  expect(Math.max(...odd) - Math.min(...odd)).toBeLessThan(1e-3);
  for (const cell of LIKE_PAPER) expect(logPaper[cell]).toBeGreaterThan(odd[0] as number);
});

it('where nothing is covered, what covers is spread evenly over all shades there are', () => {
  const { logCover } = learnStates(SHADE, [NONE], ALIKE, NONE);
  // From -0.6 to 1.6; the share of blinded looks from 0 to 1.
  for (const log of logCover) expect(log).toBeCloseTo(Math.log(1 / 2.2), 9);
});

it('what looks like covered cells is likeliest covered, what looks like bare ones bare', () => {
  const covered = cellwise((row, column) => Number(row >= 20 && column >= 12));
  const shade = SHADE.map((value, cell) => (covered[cell] === 1 ? 0.45 : value));
  const warm = covered.map((isCovered) => 0.12 * isCovered);
  const { logInk, logPaper, logCover } = learnStates(shade, [NONE, warm], ALIKE, covered);
  const bare = (cells: readonly number[]): number[] => cells.filter((cell) => covered[cell] === 0);
  const most = (cell: number): string => {
    const [ink, paper, cover] = [logInk, logPaper, logCover].map((logs) => logs[cell] as number) as [
      number,
      number,
      number,
    ];
    return cover > Math.max(ink, paper) ? 'cover' : ink > paper ? 'ink' : 'paper';
  };
  expect(new Set(VARYING_CELLS.filter((cell) => covered[cell] === 1).map(most))).toEqual(new Set(['cover']));
  expect(new Set(bare(LIKE_INK).map(most))).toEqual(new Set(['ink']));
  expect(new Set(bare(LIKE_PAPER).map(most))).toEqual(new Set(['paper']));
});
