/** Tags of which only the printed ID is left, printed, photographed and read by the ledger: never a wrong plant. */

import { beforeAll, describe, expect, it } from 'vitest';
import { idOfNumber } from '../../../src/ids/allocation.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { READ_AT } from '../../../src/scan/reading/read.js';
import { offeredByRows } from '../../../src/scan/reading/rows-read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes } from '../../../src/scan/reading/tag-codes.js';
import { ledgerTexts, PLANTS, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { type Damage, lone, NO_DAMAGE, photograph } from '../../support/camera.js';
import { withoutSymbol } from '../../support/without-symbol.js';

const codesOf = (texts: string[]) => packTagCodes(texts, strangersTo(new Set(texts), 5));

const own = codesOf(ledgerTexts());
const other = codesOf(ledgerTexts(PLANTS + 1));
/** The plant that a tag's own was cut from, in the ledger too. */
const PARENT = idOfNumber(1191, 5);

function pictureOf(tag: WeatherTag, damage: Partial<Damage>, seed: number) {
  const all = { ...NO_DAMAGE, pxPerMm: 4 / tag.moduleMm, tiltDeg: 20, ...damage };
  return searchable(photograph(lone(tag.face, tag.facePxPerMm), all, seed));
}

const STOCKS = ['a4-21-64x38', 'stake-a4-16x127', 'hang-a4-9-50x90'] as const;
const HARD: readonly (readonly [string, Partial<Damage>])[] = [
  ['upside down', { rotationDeg: 187 }],
  ['upright, far away', { rotationDeg: 95, pxPerMm: 7 }],
  ['faded, in dim light', { rotationDeg: 300, inkLeft: 0.4, light: 0.5, noise: 0.03 }],
];

let tags: WeatherTag[];

beforeAll(async () => {
  tags = await Promise.all(
    STOCKS.map(async (stock) => withoutSymbol((await printTags(stock, 1))[0] as WeatherTag)),
  );
});

describe.each(HARD)('a tag without its symbol, %s', (_name, damage) => {
  it('is offered in its own ledger, not taken, and not in another one', () => {
    const index = HARD.findIndex(([, one]) => one === damage);
    const tag = tags[index] as WeatherTag;
    const picture = pictureOf(tag, damage, 80 + index);
    const [first] = offeredByRows(picture, own)[0]?.suspects ?? [];
    expect(first?.text).toBe(tag.text);
    expect(first?.probability).toBeLessThan(READ_AT);
    expect(offeredByRows(picture, other)).toEqual([]);
  });
});

it('with some of its characters under mud, its own tag is named or none', () => {
  const tag = tags[0] as WeatherTag;
  const { x, width } = tag.symbolMm;
  const dirtBox = { x: x + width, y: 0, width: 14, height: 12 };
  const offered = [1, 2, 3].flatMap((seed) => {
    const picture = pictureOf(tag, { mudShare: 0.5, dirtBox }, seed);
    expect(offeredByRows(picture, other)).toEqual([]);
    return offeredByRows(picture, own).map(({ suspects }) => suspects[0]?.text);
  });
  expect(new Set(offered)).toEqual(new Set([tag.text]));
});

describe('a tag that names the parent of a cutting in its lines', () => {
  it('is offered as its own plant', async () => {
    const [tag] = await printTags('a4-21-64x38', 1, [], 'qr', 1, PARENT);
    const picture = pictureOf(withoutSymbol(tag as WeatherTag), { rotationDeg: 20 }, 5);
    const readings = offeredByRows(picture, own);
    expect(readings.map(({ suspects }) => suspects[0]?.text)).not.toContain(`${PARENT}.1`);
    expect(readings[0]?.suspects[0]?.text).toBe(tag?.text);
  });

  it('is not offered as the parent where only the lines are left', async () => {
    const [tag] = await printTags('hang-a4-9-50x90', 1, [], 'qr', 1, PARENT);
    const { face, ...rest } = withoutSymbol(tag as WeatherTag);
    const data = face.data.slice();
    // What is above the lines, and the second ID under them.
    data.fill(255, 0, Math.round(0.62 * face.height) * face.width);
    data.fill(255, Math.round(0.9 * face.height) * face.width);
    const picture = pictureOf({ ...rest, face: { ...face, data } }, { pxPerMm: 12, rotationDeg: 5 }, 3);
    expect(offeredByRows(picture, own)).toEqual([]);
  });
});
