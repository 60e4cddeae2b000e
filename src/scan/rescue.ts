/**
 * The preparations a picture is given, one after the other, when nothing is read in it as it is.
 *
 * Chosen by greedy cover over 308 damaged pictures of QR and Code 128 tags (mud, splashes, glare, blur,
 * shake, noise, faded ink, shade, curvature, any roll): as taken 101 were read, with these five 220. What
 * helped less and was left out: half size, plain blur, median, plain double size, unsharp without doubling.
 */

import { blurred, evened, type GrayPicture, resized, sharpened, turned } from './picture.js';
import type { Point } from './point.js';

export type PreparationName =
  | 'as taken'
  | 'evened'
  | 'doubled and sharpened'
  | 'turned by 30°'
  | 'turned by 60°'
  | 'smoothed and evened';

export interface Prepared {
  readonly name: PreparationName;
  readonly picture: GrayPicture;
  /** From a point of `picture` to the same point of the picture it was made from. */
  readonly toOriginal: (point: Point) => Point;
}

/**
 * Larger pictures are brought down to this first: a tag takes up enough of a phone's twelve megapixels
 * that its modules stay several pixels wide, and five looks at full size would take as many seconds.
 */
const MOST_PIXELS = 3e6;
/** Half width, in pixels, of the neighbourhood that is evened: a few modules. */
const EVENED_RADIUS_PX = 20;

/** Yields one preparation at a time, so that a later one costs nothing when an earlier one is enough. */
export async function* preparations(original: GrayPicture): AsyncGenerator<Prepared> {
  const scale = Math.min(1, Math.sqrt(MOST_PIXELS / (original.width * original.height)));
  const base = scale < 1 ? await resized(original, scale) : original;
  const scaled = (factor: number) => (point: Point) => ({ x: point.x / factor, y: point.y / factor });
  const softened = evened(await blurred(base, 1), EVENED_RADIUS_PX);

  yield { name: 'evened', picture: softened, toOriginal: scaled(scale) };
  yield {
    name: 'doubled and sharpened',
    picture: await sharpened(await resized(base, 2), 8, 4),
    toOriginal: scaled(2 * scale),
  };
  // Code 128 is read within some 15° of level or upright; and ZBar's scan lines meet the mud elsewhere.
  for (const degrees of [30, 60] as const) {
    const { picture, toUpright } = await turned(softened, degrees);
    yield {
      name: `turned by ${degrees}°`,
      picture,
      toOriginal: (point) => scaled(scale)(toUpright(point)),
    };
  }
  yield {
    name: 'smoothed and evened',
    picture: evened(await blurred(base, 2), EVENED_RADIUS_PX),
    toOriginal: scaled(scale),
  };
}
