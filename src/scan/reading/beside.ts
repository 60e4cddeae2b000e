/**
 * Looks for damaged tags beside codes that were read already: elsewhere, at no finer a resolution than those
 * needed, and without the ledger's tags, which are asked for only where something looks like one.
 */
import type { PhotoCode } from '../photo.js';
import type { ColourPicture } from '../picture.js';
import { ALIKE } from './alike.js';
import { type Found, findTags, MOST_PIXELS, pyramidOf } from './find.js';
import { placeOf, scaledPlace } from './place.js';
import { halvedWhile } from './plane.js';

/** A module of the smallest code that was read stays at least so wide. */
const LEAST_MODULE_PX = 4;
/** Where tags of its size are found. */
const LEVELS = 2;
/** A place that agrees less than this with what is alike on all tags is not worth the ledger's tags. */
const LEAST_AGREEMENT = 450;

export function findBeside(picture: ColourPicture, codes: readonly PhotoCode[]): Found {
  const taken = codes.map(placeOf);
  const leastPx = Math.min(...taken.map(({ modulePx }) => modulePx));
  const { planes, halvings } = halvedWhile(
    picture,
    ({ gray }, halvedSoFar) =>
      gray.width * gray.height > MOST_PIXELS || leastPx >= 2 ** (halvedSoFar + 1) * LEAST_MODULE_PX,
  );
  const places = taken.map((place) => scaledPlace(place, halvings));
  const finds = findTags(pyramidOf(planes.gray).slice(0, LEVELS), ALIKE, places).flatMap((find) => {
    const fitted = find.fit();
    return fitted === null || fitted.score < LEAST_AGREEMENT ? [] : [{ ...find, fit: () => fitted }];
  });
  return { planes, halvings, finds };
}
