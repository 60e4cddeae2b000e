/** Printed, damaged, photographed and read by the ledger: never a wrong plant. */

import { beforeAll, describe, expect, it } from 'vitest';
import { grayOf } from '../../../src/scan/picture.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT, READ_AT, readByLedger } from '../../../src/scan/reading/read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes, type TagCodes } from '../../../src/scan/reading/tag-codes.js';
import { ledgerTexts, PLANTS, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import {
  type Damage,
  lone,
  NO_DAMAGE,
  type Photo,
  type PlacedTag,
  photograph,
} from '../../support/camera.js';
import { inGray } from '../../support/gray.js';

const codesOf = (texts: string[]) => packTagCodes(texts, strangersTo(new Set(texts), 5));

let own: TagCodes;
let other: TagCodes;
let tags: WeatherTag[];

beforeAll(async () => {
  own = codesOf(ledgerTexts());
  other = codesOf(ledgerTexts(PLANTS + 1));
  tags = [...(await printTags('a4-65-38x21', 2)), ...(await printTags('stake-a4-16x127', 2))];
});

function photoOf(tag: WeatherTag, damage: Partial<Damage>, seed: number): Photo {
  return photograph(
    lone(tag.face, tag.facePxPerMm),
    {
      ...NO_DAMAGE,
      pxPerMm: 3.5 / tag.moduleMm,
      dirtBox: tag.symbolMm,
      tiltDeg: 15,
      rotationDeg: 70,
      ...damage,
    },
    seed,
  );
}

const HARD: readonly (readonly [string, Partial<Damage>])[] = [
  ['two fifths under mud', { mudShare: 0.4 }],
  ['three fifths under mud', { mudShare: 0.6, mudBlobs: 2 }],
  ['a fifth in glare', { glareShare: 0.2 }],
  ['a third torn off', { tornShare: 0.33 }],
  ['round a pot, with mud', { wrapDeg: 80, mudShare: 0.2 }],
  ['out of focus', { blurPx: 3 }],
];

describe.each(HARD)('a tag %s', (_name, damage) => {
  it('is read or offered in its own ledger, and as no tag of another one', () => {
    const index = HARD.findIndex(([, other]) => other === damage);
    const tag = tags[index % tags.length] as WeatherTag;
    const photo = photoOf(tag, damage, 40 + index);
    const [first] = readByLedger(searchable(photo), own)[0]?.suspects ?? [];
    expect(first?.text).toBe(tag.text);
    expect(first?.probability).toBeGreaterThanOrEqual(OFFERED_AT);
    const foreign = readByLedger(searchable(photo), other)[0]?.suspects[0]?.probability ?? 0;
    expect(foreign).toBeLessThan(0.5);
  });
});

it('a photo in black and white is read without its colours', () => {
  for (const [index, tag] of tags.slice(0, 2).entries()) {
    const photo = searchable(inGray(grayOf(photoOf(tag, { mudShare: 0.25 }, 70 + index))));
    const [first] = readByLedger(photo, own)[0]?.suspects ?? [];
    expect(first?.text).toBe(tag.text);
    expect(first?.probability).toBeGreaterThanOrEqual(READ_AT);
    expect(readByLedger(photo, other)[0]?.suspects[0]?.probability ?? 0).toBeLessThan(0.5);
  }
});

it('two damaged tags in one picture are both read, each at its place', () => {
  const [a, b] = [tags[0], tags[1]] as [WeatherTag, WeatherTag];
  const place = (tag: WeatherTag, yMm: number): PlacedTag => ({
    face: tag.face,
    facePxPerMm: tag.facePxPerMm,
    xMm: 0,
    yMm,
    turnDeg: yMm,
  });
  const damage = { ...NO_DAMAGE, pxPerMm: 8, mudShare: 0.25, dirtBox: a.symbolMm };
  const photo = photograph([place(a, 0), place(b, 30)], damage, 3);
  const read = readByLedger(searchable(photo), own).filter(
    ({ suspects }) => (suspects[0]?.probability ?? 0) >= READ_AT,
  );
  expect(read.map(({ suspects }) => suspects[0]?.text).sort()).toEqual([a.text, b.text].sort());
  const [x, y] = [a.symbolMm.x - 5 * a.moduleMm, a.symbolMm.y - 5 * a.moduleMm];
  const corner = photo.pixelOf(x, y);
  const found = read.find(({ suspects }) => suspects[0]?.text === a.text)?.pose ?? new Float64Array(8);
  expect(Math.hypot((found[0] ?? 0) + 0.5 - corner.x, (found[1] ?? 0) + 0.5 - corner.y)).toBeLessThan(2);
});

it('where nothing is left to read, nothing is offered', () => {
  const [tag] = tags as [WeatherTag];
  for (const damage of [{ mudShare: 0.97, mudBlobs: 1 }, { blurPx: 12 }, { inkLeft: 0 }]) {
    const [first] = readByLedger(searchable(photoOf(tag, damage, 5)), own)[0]?.suspects ?? [];
    expect(first?.probability ?? 0).toBeLessThan(OFFERED_AT);
  }
});

it('pictures of any size and of nothing hold no tag', () => {
  for (const [width, height] of [
    [1, 1],
    [3, 200],
    [300, 200],
  ] as const) {
    const data = new Uint8Array(width * height).fill(128);
    const readings = readByLedger(searchable(inGray({ data, width, height })), own);
    expect(readings[0]?.suspects[0]?.probability ?? 0).toBeLessThan(0.01);
  }
});
