/** Symbols as rectangles to fill: the modules, and the frame around their quiet zone. */
import type { Code128Bars } from '../codes/code128.js';
import type { BitMatrix } from '../codes/qr.js';
import { QR_FRAME_MODULES, QR_MARGIN_MODULES, qrBlockModules } from '../codes/qr-block.js';
import type { SymbolPlace } from './arrangement.js';
import { type Box, turnedInto } from './geometry.js';
import { code128Block } from './symbol-blocks.js';

/** Rectangles to fill, as x, y, width, height one after the other, in units of `unitDots`. */
export interface SymbolDrawing {
  readonly kind: 'qr' | 'code128';
  readonly text: string;
  readonly moduleDots: number;
  readonly quietDots: number;
  /** The symbol without its quiet zone, in dots from the face's top left. */
  readonly box: Box;
  /** Where the rectangles count from, in dots from the face's top left. */
  readonly x: number;
  readonly y: number;
  readonly unitDots: number;
  readonly rectangles: readonly number[];
}

/** A QR code with its frame, counted in modules from the block's corner. */
export function drawQr(text: string, modules: BitMatrix, place: SymbolPlace): SymbolDrawing {
  const { moduleDots } = place;
  const margin = QR_MARGIN_MODULES * moduleDots;
  const side = modules.size * moduleDots;
  const block = qrBlockModules(modules.size);
  return {
    kind: 'qr',
    text,
    moduleDots,
    quietDots: (QR_MARGIN_MODULES - QR_FRAME_MODULES) * moduleDots,
    box: { x: place.x + margin, y: place.y + margin, width: side, height: side },
    x: place.x,
    y: place.y,
    unitDots: moduleDots,
    rectangles: darkRectangles(modules, QR_MARGIN_MODULES, frame(block, block, QR_FRAME_MODULES)),
  };
}

/** A Code 128 with its frame, in dots; as wide as its own bars, which digits make fewer. */
export function drawCode128(text: string, bars: Code128Bars, place: SymbolPlace, dpi: number): SymbolDrawing {
  const block = code128Block(bars.modules, place.moduleDots, dpi);
  const turned = place.turn === 90;
  const barDots = place.acrossDots - 2 * block.endDots;
  const rectangles = frame(block.alongDots, place.acrossDots, block.frameDots);
  let x = block.sideDots;
  bars.widths.forEach((width, index) => {
    const widthDots = width * place.moduleDots;
    if (index % 2 === 0) rectangles.push(x, block.endDots, widthDots, barDots);
    x += widthDots;
  });
  const along = {
    x: block.sideDots,
    y: block.endDots,
    width: bars.modules * place.moduleDots,
    height: barDots,
  };
  const room = {
    x: place.x,
    y: place.y,
    width: turned ? place.acrossDots : block.alongDots,
    height: turned ? block.alongDots : place.acrossDots,
  };
  return {
    kind: 'code128',
    text,
    moduleDots: place.moduleDots,
    quietDots: block.sideDots - block.frameDots,
    box: turnedInto(room, place.turn, along),
    x: place.x,
    y: place.y,
    unitDots: 1,
    rectangles: turned ? turnedRectangles(rectangles, room.width) : rectangles,
  };
}

/** A closed line along the inside of a rectangle's edge. */
function frame(width: number, height: number, line: number): number[] {
  return [
    ...[0, 0, width, line],
    ...[0, height - line, width, line],
    ...[0, line, line, height - 2 * line],
    ...[width - line, line, line, height - 2 * line],
  ];
}

/** A quarter turn clockwise of rectangles that lie in a block `height` high before it. */
function turnedRectangles(rectangles: readonly number[], height: number): number[] {
  const turned: number[] = [];
  for (let index = 0; index < rectangles.length; index += 4) {
    const [x = 0, y = 0, w = 0, h = 0] = rectangles.slice(index, index + 4);
    turned.push(height - y - h, x, h, w);
  }
  return turned;
}

/** Adds the dark modules as few rectangles: runs of a row, joined with like runs of the rows above. */
function darkRectangles(modules: BitMatrix, offset: number, rectangles: number[]): number[] {
  const { size } = modules;
  /** For each first column the rectangle begun there last. */
  const begun = new Array<number>(size).fill(-1);
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      if (!modules.dark(row, column)) continue;
      const start = column;
      while (modules.dark(row, column + 1)) column++;
      const width = column - start + 1;
      const at = begun[start] ?? -1;
      const endsAbove = (rectangles[at + 1] ?? 0) + (rectangles[at + 3] ?? 0) === offset + row;
      if (at >= 0 && endsAbove && rectangles[at + 2] === width) {
        rectangles[at + 3] = (rectangles[at + 3] ?? 0) + 1;
      } else {
        begun[start] = rectangles.length;
        rectangles.push(offset + start, offset + row, width, 1);
      }
    }
  }
  return rectangles;
}
