/** The cells of a stock as they lie on a page that was printed with a nudge and a scale. */
import type { Calibration } from '../../ledger/model.js';
import type { Box } from '../geometry.js';
import type { Stock } from '../stock.js';
import type { Point } from './projective.js';

/** Row and column count from 1. */
export interface Cell {
  readonly row: number;
  readonly column: number;
}

export interface CellGrid {
  /** The cell that a point of the page (mm) lies in or is nearest to; null off the grid. */
  cellAt(point: Point): Cell | null;
  /** A cell's place on the page, mm. */
  boxOf(cell: Cell): Box;
  /** Top left corner of the real label, where it lies without nudge and scale, mm. */
  labelCorner(cell: Cell): Point;
}

export function makeGrid({ cells }: Stock, { nudgeMm, scale }: Calibration): CellGrid {
  const labelCorner = ({ row, column }: Cell): Point => ({
    x: cells.left_mm + (column - 1) * cells.pitch_x_mm,
    y: cells.top_mm + (row - 1) * cells.pitch_y_mm,
  });
  const boxOf = (cell: Cell): Box => {
    const corner = labelCorner(cell);
    return {
      x: corner.x * scale + nudgeMm.x,
      y: corner.y * scale + nudgeMm.y,
      width: cells.width_mm,
      height: cells.height_mm,
    };
  };
  /** Nearest centre, so that what lies in the gap between two labels belongs to one of them. */
  const index = (mm: number, first: number, pitch: number, size: number): number =>
    Math.round((mm - first - size / 2) / pitch) + 1;
  return {
    labelCorner,
    boxOf,
    cellAt({ x, y }) {
      const first = boxOf({ row: 1, column: 1 });
      const row = index(y, first.y, cells.pitch_y_mm * scale, cells.height_mm);
      const column = index(x, first.x, cells.pitch_x_mm * scale, cells.width_mm);
      const isOnGrid = row >= 1 && row <= cells.rows && column >= 1 && column <= cells.columns;
      return isOnGrid ? { row, column } : null;
    },
  };
}
