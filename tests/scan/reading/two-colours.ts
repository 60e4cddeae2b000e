/** A tag's grid in two colours: what is alike on all tags as it is, the other cells dark or light by lot. */
import { ALIKE } from '../../../src/scan/reading/alike.js';
import { CELLS, DARK, GRID, LIGHT, VARYING } from '../../../src/scan/reading/tag-grid.js';
import { seededRandom } from '../../support/random.js';

const random = seededRandom(20261128);

/** `LIGHT` or `DARK` for every cell. */
export const COLOURS = ALIKE.map((colour) =>
  colour !== VARYING ? colour : random.next() < 0.5 ? LIGHT : DARK,
);

/** A value for every cell. */
export const cellwise = (of: (row: number, column: number, cell: number) => number): Float64Array =>
  Float64Array.from({ length: CELLS }, (_, cell) => of(Math.floor(cell / GRID), cell % GRID, cell));
