/**
 * One picture that shows why a tag was read as it was: the tag squared up, with what was taken for mud or
 * glare tinted, and beside it the symbol of the tag that was read.
 */
import { tagQrWords } from '../../codes/tag-qr.js';
import { type ColourPicture, pngOf } from '../picture.js';
import { colourPlanes, levelAt } from './plane.js';
import { placePoints } from './pose.js';
import type { LedgerReading } from './read.js';
import { blankGrid, CELLS, cellOfModule, DARK, GRID } from './tag-grid.js';

const CELL_PX = 14;
const GAP_PX = 2 * CELL_PX;
const SIDE_PX = GRID * CELL_PX;
const WIDTH_PX = 2 * SIDE_PX + 3 * GAP_PX;
const HEIGHT_PX = SIDE_PX + 2 * GAP_PX;
const GROUND = 200;
const TINT = [230, 60, 160] as const;
/** Cells more likely covered than not are tinted by this share at most. */
const MOST_TINT = 0.55;

/** A PNG file. The symbol beside is left out if no tag was likely. */
export async function explained(picture: ColourPicture, reading: LedgerReading): Promise<Uint8Array> {
  const canvas = new Uint8Array(WIDTH_PX * HEIGHT_PX * 3).fill(GROUND);
  drawSquaredUp(canvas, picture, reading);
  const text = reading.suspects[0]?.text;
  if (text !== undefined) drawSymbol(canvas, text);
  return pngOf(canvas, WIDTH_PX, HEIGHT_PX);
}

function drawSquaredUp(canvas: Uint8Array, picture: ColourPicture, { pose, evidence }: LedgerReading): void {
  const { gray, warm, green } = colourPlanes(picture);
  const [xs, ys] = [new Float64Array(SIDE_PX), new Float64Array(SIDE_PX)];
  const u = Float64Array.from({ length: SIDE_PX }, (_, px) => (2 * (px + 0.5)) / SIDE_PX - 1);
  for (let py = 0; py < SIDE_PX; py++) {
    placePoints(pose, { u, v: new Float64Array(SIDE_PX).fill(u[py] as number) }, xs, ys);
    for (let px = 0; px < SIDE_PX; px++) {
      const [x, y] = [xs[px] as number, ys[px] as number];
      const level = levelAt(gray, x, y);
      const redLessBlue = warm === null ? 0 : levelAt(warm, x, y);
      const greenLess = green === null ? 0 : levelAt(green, x, y);
      // The three colours back from their weighted sum and their differences.
      const mean = level - 0.587 * greenLess - 0.0925 * redLessBlue;
      const colour = [mean + redLessBlue / 2, mean + greenLess, mean - redLessBlue / 2];
      const cell = Math.floor(py / CELL_PX) * GRID + Math.floor(px / CELL_PX);
      const hidden = evidence.covered[cell] as number;
      const tint = hidden > 0.5 ? MOST_TINT * hidden : 0;
      const at = ((py + GAP_PX) * WIDTH_PX + px + GAP_PX) * 3;
      for (let channel = 0; channel < 3; channel++) {
        const value = (colour[channel] as number) * (1 - tint) + (TINT[channel] as number) * tint;
        canvas[at + channel] = Math.min(255, Math.max(0, Math.round(value)));
      }
    }
  }
}

function drawSymbol(canvas: Uint8Array, text: string): void {
  const words = tagQrWords(text);
  const dark = Uint8Array.from(blankGrid(), (colour) => Number(colour === DARK));
  for (let module = 0; module < words.length * 32; module++) {
    if ((((words[module >> 5] as number) >>> (module & 31)) & 1) === 1) dark[cellOfModule(module)] = 1;
  }
  for (let cell = 0; cell < CELLS; cell++) {
    const level = dark[cell] === 1 ? 20 : 255;
    const left = SIDE_PX + 2 * GAP_PX + (cell % GRID) * CELL_PX;
    const top = GAP_PX + Math.floor(cell / GRID) * CELL_PX;
    for (let row = top; row < top + CELL_PX; row++) {
      canvas.fill(level, (row * WIDTH_PX + left) * 3, (row * WIDTH_PX + left + CELL_PX) * 3);
    }
  }
}
