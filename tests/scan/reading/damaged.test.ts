/** Who is asked for a damaged tag when. */

import { expect, it } from 'vitest';
import { idOfNumber } from '../../../src/ids/allocation.js';
import { readDamaged } from '../../../src/scan/reading/damaged.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT } from '../../../src/scan/reading/read.js';
import { offeredByRows } from '../../../src/scan/reading/rows-read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes } from '../../../src/scan/reading/tag-codes.js';
import { ledgerTexts, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { lone, NO_DAMAGE, photograph } from '../../support/camera.js';

/** The first plant of a garden, and one that it does not have. */
const [OWN, FOREIGN] = [idOfNumber(1, 5), idOfNumber(20_000, 5)];
const texts = ledgerTexts();
const codes = packTagCodes(texts, strangersTo(new Set(texts), 5));

function photoOf({ face, facePxPerMm, moduleMm }: WeatherTag) {
  const damage = { ...NO_DAMAGE, pxPerMm: 4 / moduleMm, tiltDeg: 15 };
  return photograph(lone(face, facePxPerMm), damage, 4);
}

/** Frame and what a raster smears. */
const AROUND_MODULES = 2.5;

/** The tag with the symbol of another one in the place of its own, at the left. */
function withSymbolOf(tag: WeatherTag, { face: { data: from } }: WeatherTag): WeatherTag {
  const { face, symbolMm, facePxPerMm } = tag;
  const data = face.data.slice();
  const right = Math.round((symbolMm.x + symbolMm.width + AROUND_MODULES * tag.moduleMm) * facePxPerMm);
  for (let y = 0; y < face.height; y++) {
    const start = y * face.width;
    data.set(from.subarray(start, start + right), start);
  }
  return { ...tag, face: { ...face, data } };
}

it('a printed ID is not asked for where a symbol is seen that speaks against it', async () => {
  const tags = await printTags('a4-21-64x38', 2, [OWN, FOREIGN]);
  const [own, foreign] = tags as [WeatherTag, WeatherTag];
  const picture = photoOf(withSymbolOf(own, foreign));
  // It can be read, or this would prove nothing.
  expect(offeredByRows(searchable(picture), codes)[0]?.suspects[0]?.text).toBe(`${OWN}.1`);
  const damaged = readDamaged(picture, codes);
  expect(damaged.map(({ part }) => part)).not.toContain('id');
  expect(damaged[0]?.suspects[0]?.probability ?? 0).toBeLessThan(OFFERED_AT);
});
