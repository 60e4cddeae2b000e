/**
 * One picture that shows why a tag was read as it was: the tag squared up, with what was taken for mud or
 * glare tinted, and beside it the symbol of the tag that was read. Under them the printed ID, likewise: of
 * the tag's characters those that were told by their looks are black, those that were not are pale, and
 * those that speak against it are in the tint.
 */
import { tagQrWords } from '../../codes/tag-qr.js';
import { type ColourPicture, pngOf } from '../picture.js';
import type { Characters } from './characters.js';
import { ROWS } from './glyphs.js';
import { colourPlanes, levelAt } from './plane.js';
import { placePoints } from './pose.js';
import type { LedgerReading } from './read.js';
import { blankGrid, CELLS, cellOfModule, DARK, GRID } from './tag-grid.js';

const CELL_PX = 14;
const GAP_PX = 2 * CELL_PX;
const SIDE_PX = GRID * CELL_PX;
const WIDTH_PX = 2 * SIDE_PX + 3 * GAP_PX;
const HEIGHT_PX = SIDE_PX + 2 * GAP_PX;
/** The row of characters is drawn as wide as the symbol. */
const ROW_HEIGHT_PX = 5 * CELL_PX;
/** A character e times as likely as any is no more than a hint, and e to this is told. */
const TOLD = 3;
const PALE = 0.3;
const GROUND = 200;
const TINT = [230, 60, 160] as const;
/** Cells more likely covered than not are tinted by this share at most. */
const MOST_TINT = 0.55;

/** A PNG file. What it was held against is left out if no tag was likely. */
export async function explained(picture: ColourPicture, reading: LedgerReading): Promise<Uint8Array> {
  const { characters } = reading;
  const height = HEIGHT_PX + (characters === null ? 0 : ROW_HEIGHT_PX + GAP_PX);
  const canvas = new Uint8Array(WIDTH_PX * height * 3).fill(GROUND);
  drawSquaredUp(canvas, picture, reading);
  const text = reading.suspects[0]?.text;
  if (text !== undefined) drawSymbol(canvas, text);
  if (characters !== null) drawRow(canvas, characters, text);
  return pngOf(canvas, WIDTH_PX, height);
}

/** The row as it is seen at the left, and what it was held against at the right, each sample a block of pixels. */
function drawRow(canvas: Uint8Array, characters: Characters, text: string | undefined): void {
  const { columns, gray, covered } = characters.seen;
  const scale = Math.min(ROW_HEIGHT_PX / ROWS, SIDE_PX / columns);
  const draw = (left: number, colourOf: (sample: number) => readonly number[]): void => {
    for (let y = 0; y < Math.floor(ROWS * scale); y++) {
      for (let x = 0; x < Math.floor(columns * scale); x++) {
        const at = ((HEIGHT_PX + y) * WIDTH_PX + left + x) * 3;
        canvas.set(colourOf(Math.floor(y / scale) * columns + Math.floor(x / scale)), at);
      }
    }
  };
  draw(GAP_PX, (sample) => {
    const hidden = covered[sample] as number;
    return tinted(
      [gray[sample], gray[sample], gray[sample]] as number[],
      hidden > 0.5 ? MOST_TINT * hidden : 0,
    );
  });
  if (text === undefined) return;
  const held = new Map<number, readonly number[]>();
  for (const { glyph, at, weight } of characters.held(text)) {
    const colour = weight < 0 ? TINT : [0, 0, 0];
    const strength = Math.max(PALE, Math.min(1, Math.abs(weight) / TOLD));
    glyph.ink.forEach((ink, index) => {
      const column = at + (index % glyph.width);
      if (column >= columns || ink < 0.02) return;
      const share = ink * strength;
      held.set(
        Math.floor(index / glyph.width) * columns + column,
        colour.map((value) => Math.round(255 * (1 - share) + value * share)),
      );
    });
  }
  draw(SIDE_PX + 2 * GAP_PX, (sample) => held.get(sample) ?? [255, 255, 255]);
}

function tinted(colour: readonly number[], tint: number): number[] {
  return colour.map((value, channel) => {
    const mixed = value * (1 - tint) + (TINT[channel] as number) * tint;
    return Math.min(255, Math.max(0, Math.round(mixed)));
  });
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
      canvas.set(tinted(colour, tint), at);
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
