/** Printed, photographed and read: what must be read, what must not, and never less than a decoder alone. */
import { describe, expect, it } from 'vitest';
import { readPhoto, readPicture } from '../../src/scan/photo.js';
import {
  type Damage,
  encodePhoto,
  grayOf,
  lone,
  NO_DAMAGE,
  type PlacedTag,
  photograph,
} from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { type SampleTag, sampleCode128Tag, sampleQrTag } from '../support/sample-tag.js';

/** A QR module of 1 mm is 6 px wide, a Code 128 module of 0.4 mm 3.2 px. */
const QR: Damage = { ...NO_DAMAGE, pxPerMm: 6 };
const CODE_128: Damage = { ...NO_DAMAGE, pxPerMm: 8 };

const SEEDS = [1, 2, 3];

async function readThrough(tag: SampleTag, damage: Damage, seed: number) {
  const photo = photograph(lone(tag.face, tag.face.pxPerMmX), damage, seed);
  return readPhoto(await encodePhoto(photo, 'jpeg'));
}

describe('a QR tag is read', () => {
  it.each<[string, Partial<Damage>]>([
    ['straight on', {}],
    ['from 45°', { tiltDeg: 45 }],
    ['upside down in half shade', { rotationDeg: 180, shade: 0.6 }],
    ['round a pot', { wrapDeg: 60, tiltDeg: 15 }],
    ['faded to a fifth', { inkLeft: 0.2 }],
    ['out of focus', { blurPx: 2 }],
    ['shaken', { motionPx: 6 }],
    ['at dusk', { light: 0.2, noise: 0.03 }],
    ['in coarse noise', { noise: 0.15 }],
    ['scratched', { scratchCount: 12 }],
    ['from afar', { pxPerMm: 2 }],
  ])('%s', async (_damage, damage) => {
    const tag = await sampleQrTag('K7FY5.1');
    for (const seed of SEEDS) {
      const { codes } = await readThrough(tag, { ...QR, dirtBox: tag.symbolMm, ...damage }, seed);
      expect(codes).toMatchObject([{ text: 'K7FY5.1', kind: 'qr' }]);
    }
  });
});

describe('a Code 128 tag is read', () => {
  it.each<[string, Partial<Damage>]>([
    ['straight on', {}],
    ['from 35°', { tiltDeg: 35 }],
    ['round a pot', { wrapDeg: 90 }],
    ['with mud on a twentieth', { mudShare: 0.05 }],
    ['faded to a fifth', { inkLeft: 0.2 }],
    ['out of focus', { blurPx: 1.5 }],
    ['in noise', { noise: 0.1 }],
    ['wet', { wetness: 0.6 }],
    ['rolled by 40°', { rotationDeg: 40 }],
    ['rolled by 115°', { rotationDeg: 115 }],
  ])('%s', async (_damage, damage) => {
    const tag = await sampleCode128Tag('PWX8R.2');
    for (const seed of SEEDS) {
      const { codes } = await readThrough(tag, { ...CODE_128, dirtBox: tag.symbolMm, ...damage }, seed);
      expect(codes).toMatchObject([{ text: 'PWX8R.2', kind: 'code128' }]);
    }
  });
});

it('nothing is read of what nobody could read', async () => {
  for (const tag of [await sampleQrTag('K7FY5.1'), await sampleCode128Tag('K7FY5.1')]) {
    for (const damage of [
      { mudShare: 0.9 },
      { blurPx: 12 },
      { inkLeft: 0 },
      { noise: 1 },
      { light: 0.005 },
    ]) {
      const { codes } = await readThrough(tag, { ...QR, dirtBox: tag.symbolMm, ...damage }, 1);
      expect(codes).toEqual([]);
    }
  }
});

it('several tags in one picture are all read, each at its place, equal texts apart', async () => {
  const place = ({ face }: SampleTag, xMm: number, yMm: number, turnDeg: number): PlacedTag => ({
    face,
    facePxPerMm: face.pxPerMmX,
    xMm,
    yMm,
    turnDeg,
  });
  const [a, b, c] = [
    await sampleQrTag('K7FY5.1'),
    await sampleQrTag('3M9QA.2'),
    await sampleCode128Tag('77J0D.1'),
  ];
  const photo = photograph(
    [place(a, 0, 0, 0), place(b, 75, 5, 20), place(a, 0, 50, -10), place(c, 75, 55, 2)],
    { ...QR, pxPerMm: 8 },
    1,
  );
  const { codes } = await readPhoto(await encodePhoto(photo, 'jpeg'));
  expect(codes.map((code) => code.text).sort()).toEqual(['3M9QA.2', '77J0D.1', 'K7FY5.1', 'K7FY5.1']);
  const centre = photo.pixelOf(a.symbolMm.x + 10.5, a.symbolMm.y + 10.5);
  const distances = codes
    .filter((code) => code.text === 'K7FY5.1')
    .map(
      ({ corners }) =>
        Math.hypot(corners[0].x + corners[2].x - 2 * centre.x, corners[0].y + corners[2].y - 2 * centre.y) /
        2,
    )
    .sort((one, other) => one - other);
  expect(distances[0]).toBeLessThan(8);
  // The second lies 50 mm below.
  expect(distances[1]).toBeGreaterThan(300);
});

it('a code that was rescued is placed in the picture as it was taken', async () => {
  const tag = await sampleCode128Tag('PWX8R.2');
  const photo = photograph(lone(tag.face, tag.face.pxPerMmX), { ...CODE_128, rotationDeg: 35 }, 1);
  const { codes } = await readPicture(grayOf(photo));
  expect(codes[0]?.step).not.toBe('as taken');
  const { x, y, width, height } = tag.symbolMm;
  const centre = photo.pixelOf(x + width / 2, y + height / 2);
  const found = { x: 0, y: 0 };
  for (const corner of codes[0]?.corners ?? []) {
    found.x += corner.x / 4;
    found.y += corner.y / 4;
  }
  // Some lines at its ends may not have been read; the bars are 112 px high.
  expect(Math.hypot(found.x - centre.x, found.y - centre.y)).toBeLessThan(30);
});

it('never less is read than by either decoder alone, and nothing wrong', async () => {
  const hard: Partial<Damage>[] = [
    { mudShare: 0.05 },
    { mudShare: 0.1 },
    { splashShare: 0.08 },
    { glareShare: 0.08 },
    { noise: 0.2 },
    { shade: 0.9 },
    { tiltDeg: 55 },
    { tiltDeg: 20, wrapDeg: 60, inkLeft: 0.6, mudShare: 0.03, shade: 0.4, noise: 0.03, wetness: 0.2 },
  ];
  const counts = { zxing: 0, zbar: 0, both: 0, photos: 0 };
  for (const [make, base, text] of [
    [sampleQrTag, QR, '0ZT41.1'],
    [sampleCode128Tag, CODE_128, 'A3C5E.1'],
  ] as const) {
    const tag = await make(text);
    for (const damage of hard) {
      for (const seed of [11, 12]) {
        const photo = photograph(
          lone(tag.face, tag.face.pxPerMmX),
          { ...base, dirtBox: tag.symbolMm, ...damage },
          seed,
        );
        const gray = grayOf(photo);
        const [byZxing, byZbar] = [await readWithZxing(gray), await readWithZbar(gray)];
        const { codes } = await readPicture(gray);
        for (const code of codes) expect(code.text).toBe(text);
        const alone = [byZxing, byZbar].map((reads) => reads.some((read) => read.text === text));
        if (alone.includes(true)) expect(codes).toHaveLength(1);
        counts.zxing += Number(alone[0]);
        counts.zbar += Number(alone[1]);
        counts.both += codes.length;
        counts.photos++;
      }
    }
  }
  // The pictures are hard enough to tell the readers apart, or this would prove nothing.
  expect(counts.photos).toBe(32);
  expect(counts.zxing).toBeLessThan(counts.both);
  expect(counts.zbar).toBeLessThan(counts.both);
});
