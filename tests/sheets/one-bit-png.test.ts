/** The PNGs for label printers, opened by libvips (through sharp), which shares no code with their writer. */
import fc from 'fast-check';
import sharp from 'sharp';
import { expect, test } from 'vitest';
import { oneBitPng } from '../../src/sheets/one-bit-png.js';

const picture = fc
  .record({ width: fc.integer({ min: 1, max: 40 }), height: fc.integer({ min: 1, max: 20 }) })
  .chain(({ width, height }) =>
    fc
      .uint8Array({ minLength: width * height, maxLength: width * height })
      .map((data) => ({ data, width, height })),
  );

test('every pixel is black below the middle grey and white from it on', async () => {
  await fc.assert(
    fc.asyncProperty(picture, async ({ data, width, height }) => {
      const { data: levels, info } = await sharp(oneBitPng({ data, width, height }, 300))
        .toColourspace('b-w')
        .raw()
        .toBuffer({ resolveWithObject: true });
      expect(info).toMatchObject({ width, height, channels: 1 });
      expect([...levels]).toEqual([...data].map((level) => (level < 128 ? 0 : 255)));
    }),
    { seed: 20261125, numRuns: 200 },
  );
});

// PNG specification, sections 11.2.1 (IHDR) and 11.3.4.3 (pHYs): 203, 300 and 600 dpi are 7992, 11811
// and 23622 dots a metre.
test.each([
  [203, 7992],
  [300, 11811],
  [600, 23622],
])('at %i dpi it is of one grey bit a pixel and of %i dots a metre', async (dpi, dotsPerMetre) => {
  const png = oneBitPng({ data: new Uint8Array(9), width: 9, height: 1 }, dpi);
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  expect([view.getUint32(16), view.getUint32(20), png[24], png[25]]).toEqual([9, 1, 1, 0]);
  expect(Buffer.from(png.subarray(37, 41)).toString()).toBe('pHYs');
  expect([view.getUint32(41), view.getUint32(45), png[49]]).toEqual([dotsPerMetre, dotsPerMetre, 1]);
  expect((await sharp(png).metadata()).density).toBe(dpi);
});
