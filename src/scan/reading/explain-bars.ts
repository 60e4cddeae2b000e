/**
 * One picture that shows why damaged bars were read as they were: the bars squared up, with every part of a
 * row that was not believed tinted, and under them those of the tag that was read, pale where no row showed
 * them and in the tint where what was seen speaks against them.
 */
import { type ColourPicture, pngOf } from '../picture.js';
import { tagModules } from './bars-codes.js';
import type { BarReading } from './bars-read.js';
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
import { placePoints } from './pose.js';

const MODULE_PX = 7;
const GAP_PX = 4 * MODULE_PX;
/** Bars are drawn as high as they are seen, between these; those they were held against, as high as the least. */
const LEAST_HEIGHT_PX = 14 * MODULE_PX;
const MOST_HEIGHT_PX = 60 * MODULE_PX;
/** From half of black to white on, what is seen speaks against a module. */
const AGAINST = 0.7;
/** Ink and paper of the tag that was read. */
const INK: Colour = [0, 0, 0];
const LIGHT_TINT = 0.35;

const SEEN =
  'Above the bars as the camera sees them, squared up; pink was left out: mud, glare, scratches, what is around the bars.';

/** A PNG file. What they were held against is left out if no tag was likely. */
export async function explainedBars(picture: ColourPicture, reading: BarReading): Promise<Explanation> {
  const { evidence, suspects } = reading;
  const width = evidence.shade.length * MODULE_PX;
  const height = drawnHeight(reading);
  const canvas = new Canvas(width + 2 * GAP_PX, height + LEAST_HEIGHT_PX + 3 * GAP_PX);
  drawSquaredUp(canvas, picture, reading, height);
  const [suspect] = suspects;
  if (suspect !== undefined) drawHeld(canvas, reading, suspect.text, height + 2 * GAP_PX);
  return {
    picture: await pngOf(canvas.data, canvas.width, canvas.height),
    caption: `${SEEN} Below those of ${suspectInWords(suspect)}: black was seen, grey could not be, pink looks otherwise.`,
  };
}

function drawnHeight({ strip, pose, evidence }: BarReading): number {
  const lengthPx = Math.hypot(
    (pose[2] as number) - (pose[0] as number),
    (pose[3] as number) - (pose[1] as number),
  );
  const heightPx = (strip.height * evidence.shade.length * MODULE_PX) / lengthPx;
  return Math.round(Math.min(MOST_HEIGHT_PX, Math.max(LEAST_HEIGHT_PX, heightPx)));
}

function drawSquaredUp(
  canvas: Canvas,
  picture: ColourPicture,
  { strip, pose, evidence }: BarReading,
  height: number,
): void {
  const colourAt = coloursOf(picture);
  const modules = evidence.shade.length;
  const rowCount = evidence.believed.length / modules;
  const width = modules * MODULE_PX;
  const u = Float64Array.from({ length: width }, (_, px) => (2 * (px + 0.5)) / width - 1);
  const [xs, ys] = [new Float64Array(width), new Float64Array(width)];
  canvas.fill(GAP_PX, GAP_PX, width, height, (x, y) => {
    const v = (2 * (y + 0.5)) / height - 1;
    if (x === 0) {
      placePoints(pose, { u, v: new Float64Array(width).fill(v) }, xs, ys);
      const inStrip = {
        u: xs.map((px) => (2 * (px + 0.5)) / strip.width - 1),
        v: ys.map((px) => (2 * (px + 0.5)) / strip.height - 1),
      };
      placePoints(strip.pose, inStrip, xs, ys);
    }
    const row = Math.floor((y * rowCount) / height);
    const cell = row * modules + Math.floor(x / MODULE_PX);
    return tinted(colourAt(xs[x] as number, ys[x] as number), 1 - (evidence.believed[cell] as number));
  });
}

function drawHeld(canvas: Canvas, { evidence }: BarReading, text: string, top: number): void {
  const { shade, rows } = evidence;
  tagModules(text).forEach((dark, module) => {
    const seen = 1 - Math.exp(-(rows[module] as number));
    const isAgainst = seen > 0.5 && Math.abs((shade[module] as number) - (1 - dark)) > AGAINST;
    const colour: Colour = isAgainst
      ? inkOf(TINT, dark === 1 ? 1 : LIGHT_TINT)
      : inkOf(INK, dark * Math.max(PALE, seen));
    canvas.fill(GAP_PX + module * MODULE_PX, top, MODULE_PX, LEAST_HEIGHT_PX, () => colour);
  });
}
