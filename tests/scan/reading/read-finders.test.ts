/** Tags that show nothing of their frame are read by their finder patterns, and other QR codes are none. */
import { expect, it } from 'vitest';
import { TagSearch } from '../../../src/scan/reading/find.js';
import { findersOf } from '../../../src/scan/reading/finders.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import {
  isOffered,
  OFFERED_AT,
  READ_AT,
  readByFinders,
  readByLedger,
  readFinds,
} from '../../../src/scan/reading/read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes } from '../../../src/scan/reading/tag-codes.js';
import { otherCode } from '../../bench/nothing-faces.js';
import { ledgerTexts, PLANTS, printTags } from '../../bench/weather-tags.js';
import { lone, NO_DAMAGE, photograph } from '../../support/camera.js';
import { seededRandom } from '../../support/random.js';
import { withoutFrame } from '../../support/without-frame.js';

const codesOf = (texts: string[]) => packTagCodes(texts, strangersTo(new Set(texts), 5));
const own = codesOf(ledgerTexts());
const other = codesOf(ledgerTexts(PLANTS + 1));

it.each(['a4-65-38x21', 'stake-a4-16x127', 'hang-a4-9-50x90'])(
  'a muddy tag of %s without its frame is offered in its own ledger, not taken, and as no tag of another one',
  async (stock) => {
    const [printed] = await printTags(stock, 1);
    if (printed === undefined) throw new Error('a tag');
    const tag = withoutFrame(printed, seededRandom(7));
    const damage = {
      ...NO_DAMAGE,
      pxPerMm: 3.5 / tag.moduleMm,
      tiltDeg: 15,
      rotationDeg: 70,
      mudShare: 0.2,
      dirtBox: tag.symbolMm,
    };
    const picture = searchable(photograph(lone(tag.face, tag.facePxPerMm), damage, 11));
    // Its frame does not show where it lies, or this would prove nothing.
    const byFrames = readFinds(
      { ...picture, finds: new TagSearch(picture.levels, own.known).byFrames() },
      own,
    );
    expect(byFrames.some(isOffered)).toBe(false);
    const [first] = readByLedger(picture, own)[0]?.suspects ?? [];
    expect(first?.text).toBe(tag.text);
    expect(first?.probability).toBeGreaterThanOrEqual(OFFERED_AT);
    expect(first?.probability).toBeLessThan(READ_AT);
    const foreign = readByFinders(picture, other)[0]?.suspects[0]?.probability ?? 0;
    expect(foreign).toBeLessThan(0.5);
  },
);

it('other QR codes, their finder patterns seen, are offered as no tag', () => {
  const random = seededRandom(3);
  const pictures = 5;
  let seen = 0;
  for (let picture = 0; picture < pictures; picture++) {
    const { face, facePxPerMm } = otherCode(random);
    const pxPerMm = Math.min(facePxPerMm, (240 * facePxPerMm) / face.width);
    const damage = { ...NO_DAMAGE, pxPerMm, tiltDeg: 10, rotationDeg: 50 * picture };
    const photo = searchable(photograph(lone(face, facePxPerMm), damage, picture));
    seen += Math.max(...photo.levels.map((plane) => findersOf(plane).length));
    expect(readByFinders(photo, own).filter(isOffered)).toEqual([]);
  }
  expect(seen).toBeGreaterThanOrEqual(2 * pictures);
});
