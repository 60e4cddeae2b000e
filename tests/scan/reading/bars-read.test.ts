/** Code 128 tags printed, damaged, photographed and read by the ledger: never a wrong plant. */

import { beforeAll, describe, expect, it } from 'vitest';
import { packBarCodes } from '../../../src/scan/reading/bars-codes.js';
import { readBarsByLedger } from '../../../src/scan/reading/bars-read.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT } from '../../../src/scan/reading/read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { ledgerTexts, PLANTS, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { type Damage, lone, NO_DAMAGE, photograph } from '../../support/camera.js';
import { inGray } from '../../support/gray.js';
import { sampleCode128Tag } from '../../support/sample-tag.js';

const codesOf = (texts: string[]) => packBarCodes(texts, strangersTo(new Set(texts), 5));

const own = codesOf(ledgerTexts());
const other = codesOf(ledgerTexts(PLANTS + 1));
let tags: WeatherTag[];

beforeAll(async () => {
  tags = [
    ...(await printTags('a4-21-64x38', 1, [], 'code128')),
    ...(await printTags('stake-a4-16x127', 1, [], 'code128')),
  ];
});

function pictureOf(tag: WeatherTag, damage: Partial<Damage>, seed: number) {
  const taken = photograph(
    lone(tag.face, tag.facePxPerMm),
    {
      ...NO_DAMAGE,
      pxPerMm: 2.6 / tag.moduleMm,
      dirtBox: tag.symbolMm,
      rotationDeg: 40,
      tiltDeg: 10,
      ...damage,
    },
    seed,
  );
  return searchable(taken);
}

const HARD: readonly (readonly [string, Partial<Damage>])[] = [
  ['a third under mud', { mudShare: 0.33 }],
  ['scratched', { scratchCount: 20 }],
  ['a tenth in glare', { glareShare: 0.1, rotationDeg: 200 }],
  ['round a pot', { wrapDeg: 70, mudShare: 0.1 }],
];

describe.each(HARD)('a tag %s', (_name, damage) => {
  it('is read or offered in its own ledger, and as no tag of another one', () => {
    const index = HARD.findIndex(([, one]) => one === damage);
    const tag = tags[index % tags.length] as WeatherTag;
    const picture = pictureOf(tag, damage, 60 + index);
    const [first] = readBarsByLedger(picture, own)[0]?.suspects ?? [];
    expect(first?.text).toBe(tag.text);
    expect(first?.probability).toBeGreaterThanOrEqual(OFFERED_AT);
    const foreign = readBarsByLedger(picture, other)[0]?.suspects[0]?.probability ?? 0;
    expect(foreign).toBeLessThan(OFFERED_AT);
  });
});

it('another Code 128 of the same length is no tag', async () => {
  for (const text of ['PARCEL7', 'A-10442']) {
    const { face, symbolMm } = await sampleCode128Tag(text);
    const tag = { text, face, facePxPerMm: face.pxPerMmX, moduleMm: 0.4, symbolMm };
    const [first] = readBarsByLedger(pictureOf(tag, { mudShare: 0.2 }, 9), own)[0]?.suspects ?? [];
    expect(first?.probability ?? 0).toBeLessThan(OFFERED_AT);
  }
});

it('stripes, and pictures of any size and of nothing, hold no tag', () => {
  for (const [width, height, periodPx] of [
    [1, 1, 5],
    [3, 200, 5],
    [400, 150, 5],
    [400, 150, 7.3],
    [300, 200, 0],
  ] as const) {
    const data = Uint8Array.from({ length: width * height }, (_, at) =>
      periodPx === 0 ? 128 : 128 + 100 * Math.sin((2 * Math.PI * (at % width)) / periodPx),
    );
    const [first] = readBarsByLedger(searchable(inGray({ data, width, height })), own)[0]?.suspects ?? [];
    expect(first?.probability ?? 0).toBeLessThan(0.01);
  }
});
