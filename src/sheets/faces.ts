/** Where the faces of a stock lie in its cell, in whole dots. */
import { dotsAtLeast, dotsWithin } from '../codes/module-fit.js';
import { type Box, largestFree, type Turn } from './geometry.js';
import type { Stock } from './stock.js';

/** A rectangle of a cell that gets the whole tag; `box` in dots from the cell's top left. */
export interface Face {
  readonly box: Box;
  readonly turn: Turn;
}

/** Millimetres from the cell's top left. */
export interface FaceMm {
  readonly box: Box;
  readonly turn: Turn;
}

/** The faces a stock names, or the largest room that its inset and its zones leave. */
export function facesMm(stock: Stock): readonly FaceMm[] {
  if (stock.faces.length > 0) return stock.faces.map((face) => ({ box: boxOf(face), turn: face.turn }));
  const inset = stock.safe_inset_mm;
  const room = {
    x: inset,
    y: inset,
    width: stock.cells.width_mm - 2 * inset,
    height: stock.cells.height_mm - 2 * inset,
  };
  const free = largestFree(room, stock.no_print.map(boxOf));
  return free === null ? [] : [{ box: free, turn: 0 }];
}

/** The faces in dots, rounded inward so that no dot leaves them. */
export function facesDots(stock: Stock, dpi: number): readonly Face[] {
  return facesMm(stock).map(({ box, turn }) => {
    const x = dotsAtLeast(box.x, dpi);
    const y = dotsAtLeast(box.y, dpi);
    return {
      turn,
      box: {
        x,
        y,
        width: dotsWithin(box.x + box.width, dpi) - x,
        height: dotsWithin(box.y + box.height, dpi) - y,
      },
    };
  });
}

/** A rectangle of a stock file as a box. */
export function boxOf(rectangle: {
  readonly x_mm: number;
  readonly y_mm: number;
  readonly width_mm: number;
  readonly height_mm: number;
}): Box {
  return { x: rectangle.x_mm, y: rectangle.y_mm, width: rectangle.width_mm, height: rectangle.height_mm };
}
