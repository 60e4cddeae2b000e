/** A damaged tag that fills a tenth of the width of a phone's picture, boards with grain and gaps all around it. */
import { expect, it } from 'vitest';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT, READ_AT, readByLedger } from '../../../src/scan/reading/read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes } from '../../../src/scan/reading/tag-codes.js';
import { ledgerTexts, PLANTS, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { lone, NO_DAMAGE, photograph } from '../../support/camera.js';

/** Twelve megapixels. */
const SIZE_PX = { width: 4000, height: 3000 };

const codesOf = (texts: string[]) => packTagCodes(texts, strangersTo(new Set(texts), 5));

it('a tag as small as a tenth of the picture, three tenths of its symbol under mud, is read in its own ledger and as none of another', async () => {
  const [tag] = (await printTags('a4-21-64x38', 1)) as [WeatherTag];
  const { face, facePxPerMm, symbolMm } = tag;
  const photo = photograph(
    lone(face, facePxPerMm),
    {
      ...NO_DAMAGE,
      sizePx: SIZE_PX,
      pxPerMm: (SIZE_PX.width / 10 / face.width) * facePxPerMm,
      tiltDeg: 15,
      rotationDeg: 25,
      blurPx: 0.8,
      noise: 0.015,
      mudShare: 0.3,
      dirtBox: symbolMm,
      ground: 'bench',
    },
    1,
  );
  expect(photo).toMatchObject(SIZE_PX);
  const picture = searchable(photo);
  const [surest] = readByLedger(picture, codesOf(ledgerTexts()));
  expect(surest?.suspects[0]?.text).toBe(tag.text);
  expect(surest?.suspects[0]?.probability).toBeGreaterThanOrEqual(READ_AT);
  const [foreign] = readByLedger(picture, codesOf(ledgerTexts(PLANTS + 1)));
  expect(foreign?.suspects[0]?.probability ?? 0).toBeLessThan(OFFERED_AT);
}, 180_000);
