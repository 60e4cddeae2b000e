/**
 * Looks for damaged tags beside codes that were read already: elsewhere, at no finer a resolution than those
 * needed, and without the ledger's tags, which are asked for only where something looks like one.
 */
import type { PhotoCode } from '../photo.js';
import type { ColourPicture } from '../picture.js';
import { ALIKE } from './alike.js';
import { type Found, TagSearch } from './find.js';
import { placeOf, scaledPlace } from './place.js';
import { searchable } from './searchable.js';

/** A module of the smallest code that was read stays at least so wide. */
const LEAST_MODULE_PX = 4;
/** Levels that are searched: a tag about as large as the code that was read shows on one of them. */
const LEVELS = 2;
/** A place that agrees less than this with what is alike on all tags is not worth the ledger's tags. */
const LEAST_AGREEMENT = 450;

export function findBeside(picture: ColourPicture, codes: readonly PhotoCode[]): Found {
  const taken = codes.map(placeOf);
  const leastPx = Math.min(...taken.map(({ modulePx }) => modulePx));
  const own = searchable(picture, Math.floor(Math.log2(leastPx / LEAST_MODULE_PX)));
  const places = taken.map((place) => scaledPlace(place, own.halvings));
  const search = new TagSearch(own.levels.slice(0, LEVELS), ALIKE);
  const finds = search.byFrames(places).flatMap((find) => {
    const fitted = find.fit();
    return fitted === null || fitted.score < LEAST_AGREEMENT ? [] : [{ ...find, fit: () => fitted }];
  });
  return { ...own, finds };
}
