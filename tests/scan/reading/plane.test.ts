/** A picture's planes: by hand, and through real files. */
import sharp from 'sharp';
import { expect, it } from 'vitest';
import { loadColours } from '../../../src/scan/picture.js';
import { colourPlanes, levelAt } from '../../../src/scan/reading/plane.js';
import { inGray } from '../../support/gray.js';

const picture = {
  width: 3,
  height: 2,
  data: Uint8Array.from(
    [
      [255, 0, 0, 0, 255, 0, 9, 9, 9],
      [0, 0, 255, 255, 255, 255, 9, 9, 9],
    ].flat(),
  ),
};

it('brightness is luma by ITU-R BT.601, section 2.5.1, and colours are differences', () => {
  const { gray, warm, green } = colourPlanes(picture);
  expect([...gray.data.slice(0, 2)].map(Math.round)).toEqual([76, 150]);
  expect([...(warm?.data ?? [])]).toEqual([255, 0, 0, -255, 0, 0]);
  expect([...(green?.data ?? [])]).toEqual([-127.5, 255, 0, -127.5, 0, 0]);
});

it('halved, each pixel is the mean of four, and what is left over is left out', () => {
  const { gray, warm, green } = colourPlanes(picture, 1);
  expect([gray.width, gray.height]).toEqual([1, 1]);
  // Red, green, blue and white make half of white, with neither tint.
  expect(gray.data[0]).toBeCloseTo(127.5, 3);
  expect([warm?.data[0], green?.data[0]]).toEqual([0, 0]);
});

it.each(['jpeg', 'png', 'webp'] as const)('a grey %s has no colours', async (format) => {
  const level = (at: number) => (at * 37) % 256;
  const gray = Uint8Array.from({ length: 40 * 30 }, (_, at) => level(at));
  const file = await sharp(gray, { raw: { width: 40, height: 30, channels: 1 } })
    .toColourspace('b-w')
    .toFormat(format, { lossless: true })
    .toBuffer();
  const planes = colourPlanes(await loadColours(file));
  expect([planes.warm, planes.green]).toEqual([null, null]);
});

it('between pixels a level is that of a plane through them, and beyond the edge that of the edge', () => {
  const { gray } = colourPlanes(inGray({ data: Uint8Array.from([0, 100, 50, 150]), width: 2, height: 2 }));
  expect(levelAt(gray, 0.25, 0.5)).toBeCloseTo(50, 3);
  expect(levelAt(gray, -3, -3)).toBeCloseTo(0, 3);
  expect(levelAt(gray, 9, 9)).toBeCloseTo(150, 0);
});
