/** What pictures that show why a tag was read are drawn with. */
import { likelihoodInWords } from '../../wording.js';
import type { ColourPicture } from '../picture.js';
import type { Suspect } from './posterior.js';

/** A picture that shows why a tag was read as it was, and what its colours mean, in a sentence or two. */
export interface Explanation {
  /** A PNG or JPEG file. */
  readonly picture: Uint8Array;
  readonly caption: string;
}

/** What a tag was read as: `the tag ZYGH0.1, 96 % likely`. */
export const suspectInWords = (suspect: Suspect | undefined): string =>
  suspect === undefined
    ? 'no tag'
    : `the tag ${suspect.text}, ${likelihoodInWords(suspect.probability)} likely`;

export type Colour = readonly [red: number, green: number, blue: number];

export const TINT: Colour = [230, 60, 160];
/** What is more likely hidden than not is tinted by this share at most. */
const MOST_TINT = 0.55;
const GROUND = 200;
/** Where hardly anything is seen, so much is left of what would be drawn. */
export const PALE = 0.3;

export class Canvas {
  /** Red, green and blue bytes. */
  readonly data: Uint8Array;

  constructor(
    readonly width: number,
    readonly height: number,
  ) {
    this.data = new Uint8Array(width * height * 3).fill(GROUND);
  }

  /** Fills a box, each of its pixels by its place in it. */
  fill(
    left: number,
    top: number,
    width: number,
    height: number,
    colourOf: (x: number, y: number) => Colour,
  ): void {
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        this.data.set(colourOf(x, y), ((top + y) * this.width + left + x) * 3);
      }
    }
  }
}

/** A colour as it is drawn where something hides the tag as likely as this, 0 to 1. */
export function tinted(colour: Colour, hidden: number): Colour {
  const share = hidden > 0.5 ? MOST_TINT * hidden : 0;
  const mix = (channel: 0 | 1 | 2): number =>
    Math.min(255, Math.max(0, Math.round(colour[channel] * (1 - share) + TINT[channel] * share)));
  return [mix(0), mix(1), mix(2)];
}

/** Ink of this colour on paper, as a share of its strength. */
export function inkOf(colour: Colour, share: number): Colour {
  const mix = (value: number): number => Math.round(255 * (1 - share) + value * share);
  return [mix(colour[0]), mix(colour[1]), mix(colour[2])];
}

/** The colour of a picture between its pixels; beyond it its edge goes on. */
export function coloursOf({ data, width, height }: ColourPicture): (x: number, y: number) => Colour {
  return (x, y) => {
    const cx = Math.min(Math.max(x, 0), width - 1);
    const cy = Math.min(Math.max(y, 0), height - 1);
    const [left, top] = [Math.floor(cx), Math.floor(cy)];
    const [right, bottom] = [Math.min(width - 1, left + 1), Math.min(height - 1, top + 1)];
    const mix = (channel: number): number => {
      const at = (column: number, row: number) => data[3 * (row * width + column) + channel] as number;
      const upper = at(left, top) + (at(right, top) - at(left, top)) * (cx - left);
      const lower = at(left, bottom) + (at(right, bottom) - at(left, bottom)) * (cx - left);
      return upper + (lower - upper) * (cy - top);
    };
    return [mix(0), mix(1), mix(2)];
  };
}
