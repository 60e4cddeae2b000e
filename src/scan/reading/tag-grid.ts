/**
 * A tag's QR code as the reader sees it: a grid of 31 × 31 cells, the frame's outer line included. Most
 * cells are alike on all tags, and by these a picture is squared up; the others tell tags apart.
 */

import { QR_FRAME_MODULES, QR_MARGIN_MODULES, TAG_QR_SIZE } from '../../codes/qr-block.js';

/** Cells on a side: the symbol, its quiet zone and the frame on both sides. */
export const GRID = TAG_QR_SIZE + 2 * QR_MARGIN_MODULES;
export const CELLS = GRID * GRID;

/** A cell's colour. */
export const LIGHT = 1;
export const DARK = -1;
/** Differs from tag to tag. */
export const VARYING = 0;

/** The cell of a symbol's module, both counted row by row. */
export function cellOfModule(module: number): number {
  const [row, column] = [Math.floor(module / TAG_QR_SIZE), module % TAG_QR_SIZE];
  return (row + QR_MARGIN_MODULES) * GRID + column + QR_MARGIN_MODULES;
}

/** Where a cell comes to lie when the grid is turned clockwise by a quarter. */
export function turnedCell(cell: number): number {
  const [row, column] = [Math.floor(cell / GRID), cell % GRID];
  return column * GRID + (GRID - 1 - row);
}

/** What is around every symbol: the frame dark, the quiet zone light; the symbol's own modules `VARYING`. */
export function blankGrid(): Int8Array {
  return Int8Array.from({ length: CELLS }, (_, cell) => {
    const [row, column] = [Math.floor(cell / GRID), cell % GRID];
    const fromEdge = Math.min(row, column, GRID - 1 - row, GRID - 1 - column);
    if (fromEdge < QR_FRAME_MODULES) return DARK;
    return fromEdge < QR_MARGIN_MODULES ? LIGHT : VARYING;
  });
}
