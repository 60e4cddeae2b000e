/**
 * One picture that shows why a tag was read as it was: the tag squared up, with what was taken for mud or
 * glare tinted, and beside it the symbol of the tag that was read. Under them the printed ID, likewise: of
 * the tag's characters those that were told by their looks are black, those that were not are pale, and
 * those that speak against it are in the tint.
 */
import { TAG_QR_SIZE } from '../../codes/qr-block.js';
import { isDark, tagQrWords } from '../../codes/tag-qr.js';
import { type ColourPicture, pngOf } from '../picture.js';
import type { Characters } from './characters.js';
import {
  Canvas,
  type Colour,
  coloursOf,
  type Explanation,
  inkOf,
  PALE,
  suspectInWords,
  TINT,
  tinted,
} from './explain-canvas.js';
import { ROWS } from './glyphs.js';
import { placePoints } from './pose.js';
import { LEAST_NAMED, type LedgerReading } from './read.js';
import type { RowReading } from './rows-read.js';
import { blankGrid, CELLS, cellOfModule, DARK, GRID } from './tag-grid.js';

const CELL_PX = 14;
const GAP_PX = 2 * CELL_PX;
const SIDE_PX = GRID * CELL_PX;
const WIDTH_PX = 2 * SIDE_PX + 3 * GAP_PX;
const HEIGHT_PX = SIDE_PX + 2 * GAP_PX;
/** The row of characters is drawn as wide as the symbol. */
const ROW_HEIGHT_PX = 5 * CELL_PX;
/** Log of a likelihood ratio from which on a character counts as told by its looks; below it is drawn paler. */
const TOLD = 3;
const PAPER: Colour = [255, 255, 255];

const SEEN = 'as the camera sees it, squared up; pink is hidden by mud or glare.';
const TOLD_BY_LOOKS = 'black was told by its looks, pale could not be, pink looks otherwise.';
const CAPTION_OF_NONE =
  'The place in the photo that looks most like a tag, squared up; pink is hidden by mud or glare. No tag of this ledger is likely there.';

/** A PNG file. What it was held against is left out if no tag is likely. */
export async function explained(picture: ColourPicture, reading: LedgerReading): Promise<Explanation> {
  const { characters } = reading;
  const [suspect] = reading.suspects;
  if (suspect === undefined || suspect.probability < LEAST_NAMED) return unlike(picture, reading);
  const { text } = suspect;
  const canvas = new Canvas(WIDTH_PX, HEIGHT_PX + (characters === null ? 0 : ROW_HEIGHT_PX + GAP_PX));
  drawSquaredUp(canvas, picture, reading);
  drawSymbol(canvas, text);
  if (characters !== null) drawRow(canvas, HEIGHT_PX, characters, text);
  return {
    picture: await pngOf(canvas.data, canvas.width, canvas.height),
    caption: [
      `Left the tag ${SEEN} Right ${suspectInWords(suspect)}.`,
      ...(characters === null ? [] : [`Below its printed ID: ${TOLD_BY_LOOKS}`]),
    ].join(' '),
  };
}

/** The place alone, and that nothing was read there. */
async function unlike(picture: ColourPicture, reading: LedgerReading): Promise<Explanation> {
  const canvas = new Canvas(SIDE_PX + 2 * GAP_PX, HEIGHT_PX);
  drawSquaredUp(canvas, picture, reading);
  return { picture: await pngOf(canvas.data, canvas.width, canvas.height), caption: CAPTION_OF_NONE };
}

/** The same of a tag of which only the printed ID is left. */
export async function explainedRow({ characters, suspects: [suspect] }: RowReading): Promise<Explanation> {
  const canvas = new Canvas(WIDTH_PX, ROW_HEIGHT_PX + 2 * GAP_PX);
  drawRow(canvas, GAP_PX, characters, suspect?.text);
  return {
    picture: await pngOf(canvas.data, canvas.width, canvas.height),
    caption: `Left the printed ID ${SEEN} Right that of ${suspectInWords(suspect)}: ${TOLD_BY_LOOKS}`,
  };
}

/** The row as it is seen at the left, and what it was held against at the right, each sample a block of pixels. */
function drawRow(canvas: Canvas, top: number, characters: Characters, text: string | undefined): void {
  const { columns, gray, covered } = characters.seen;
  const scale = Math.min(ROW_HEIGHT_PX / ROWS, SIDE_PX / columns);
  const draw = (left: number, colourOf: (sample: number) => Colour): void =>
    canvas.fill(left, top, Math.floor(columns * scale), Math.floor(ROWS * scale), (x, y) =>
      colourOf(Math.floor(y / scale) * columns + Math.floor(x / scale)),
    );
  draw(GAP_PX, (sample) => {
    const level = gray[sample] as number;
    return tinted([level, level, level], covered[sample] as number);
  });
  if (text === undefined) return;
  const held = new Map<number, Colour>();
  for (const { glyph, at, weight } of characters.held(text)) {
    const colour: Colour = weight < 0 ? TINT : [0, 0, 0];
    const strength = Math.max(PALE, Math.min(1, Math.abs(weight) / TOLD));
    glyph.ink.forEach((ink, index) => {
      const column = at + (index % glyph.width);
      if (column >= columns || ink < 0.02) return;
      held.set(Math.floor(index / glyph.width) * columns + column, inkOf(colour, ink * strength));
    });
  }
  draw(SIDE_PX + 2 * GAP_PX, (sample) => held.get(sample) ?? PAPER);
}

function drawSquaredUp(canvas: Canvas, picture: ColourPicture, { pose, evidence }: LedgerReading): void {
  const colourAt = coloursOf(picture);
  const at = Float64Array.from({ length: SIDE_PX }, (_, px) => (2 * (px + 0.5)) / SIDE_PX - 1);
  const [xs, ys] = [new Float64Array(SIDE_PX), new Float64Array(SIDE_PX)];
  canvas.fill(GAP_PX, GAP_PX, SIDE_PX, SIDE_PX, (x, y) => {
    if (x === 0) placePoints(pose, { u: at, v: new Float64Array(SIDE_PX).fill(at[y] as number) }, xs, ys);
    const cell = Math.floor(y / CELL_PX) * GRID + Math.floor(x / CELL_PX);
    return tinted(colourAt(xs[x] as number, ys[x] as number), evidence.covered[cell] as number);
  });
}

function drawSymbol(canvas: Canvas, text: string): void {
  const words = tagQrWords(text);
  const dark = Uint8Array.from(blankGrid(), (colour) => Number(colour === DARK));
  for (let module = 0; module < TAG_QR_SIZE * TAG_QR_SIZE; module++) {
    if (isDark(words, module)) dark[cellOfModule(module)] = 1;
  }
  for (let cell = 0; cell < CELLS; cell++) {
    const colour: Colour = dark[cell] === 1 ? [20, 20, 20] : PAPER;
    const left = SIDE_PX + 2 * GAP_PX + (cell % GRID) * CELL_PX;
    canvas.fill(left, GAP_PX + Math.floor(cell / GRID) * CELL_PX, CELL_PX, CELL_PX, () => colour);
  }
}
