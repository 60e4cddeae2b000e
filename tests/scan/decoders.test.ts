import { describe, expect, it } from 'vitest';
import { decodeWithZbar, decodeWithZxing } from '../../src/scan/decoders.js';
import type { GrayPicture } from '../../src/scan/picture.js';
import { grayOf, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { seededRandom } from '../support/random.js';
import { sampleCode128Tag, sampleQrTag } from '../support/sample-tag.js';

const decoders = [
  ['ZXing-C++', decodeWithZxing],
  ['ZBar', decodeWithZbar],
] as const;

const blank = (width: number, height: number): GrayPicture => ({
  data: new Uint8Array(width * height).fill(200),
  width,
  height,
});

describe.each(decoders)('%s', (_name, decode) => {
  it.each([0, 25, 90, 200])(
    'reads a QR code rolled by %d° and finds its corners in order',
    async (rotationDeg) => {
      const { face, symbolMm } = await sampleQrTag('K7FY5.1');
      const photo = photograph(lone(face, face.pxPerMmX), { ...NO_DAMAGE, rotationDeg, tiltDeg: 15 }, 1);
      const reads = await decode(grayOf(photo));
      expect(reads.map(({ text, kind }) => ({ text, kind }))).toEqual([{ text: 'K7FY5.1', kind: 'qr' }]);
      const { x, y, width, height } = symbolMm;
      const truth = [
        [x, y],
        [x + width, y],
        [x + width, y + height],
        [x, y + height],
      ].map(([xMm, yMm]) => photo.pixelOf(xMm ?? 0, yMm ?? 0));
      truth.forEach((corner, index) => {
        const found = reads[0]?.corners[index] ?? { x: -1e9, y: -1e9 };
        // Half a module of 1 mm at 8 px/mm.
        expect(Math.hypot(found.x - corner.x, found.y - corner.y)).toBeLessThan(4);
      });
    },
  );

  it('reads Code 128 on many lines, and bounds the bars', async () => {
    const { face, symbolMm } = await sampleCode128Tag('3M9QA.12');
    const photo = photograph(lone(face, face.pxPerMmX), NO_DAMAGE, 1);
    const [read, ...others] = await decode(grayOf(photo));
    expect(others).toEqual([]);
    expect(read).toMatchObject({ text: '3M9QA.12', kind: 'code128' });
    expect(read?.lineCount).toBeGreaterThan(10);
    // Five modules of 3.2 px: ZBar gives where it noticed an end, a little beyond it.
    const left = photo.pixelOf(symbolMm.x, symbolMm.y).x;
    const right = photo.pixelOf(symbolMm.x + symbolMm.width, symbolMm.y).x;
    expect(Math.abs((read?.corners[0].x ?? 0) - left)).toBeLessThan(16);
    expect(Math.abs((read?.corners[1].x ?? 0) - right)).toBeLessThan(16);
  });

  it.each([
    [1, 1],
    [1, 100],
    [100, 1],
    [2, 3],
    [640, 480],
  ])('reads nothing on plain paper of %d × %d', async (width, height) => {
    expect(await decode(blank(width, height))).toEqual([]);
  });

  it('reads nothing in noise', async () => {
    for (let seed = 0; seed < 10; seed++) {
      const random = seededRandom(seed);
      const data = Uint8Array.from({ length: 300 * 200 }, () => random.below(256));
      expect(await decode({ data, width: 300, height: 200 })).toEqual([]);
    }
  });

  it('takes a picture that is a view into a larger buffer', async () => {
    const { face } = await sampleQrTag('K7FY5.1');
    const whole = new Uint8Array(face.data.length + 1000);
    whole.set(face.data, 500);
    const data = whole.subarray(500, 500 + face.data.length);
    const reads = await decode({ data, width: face.width, height: face.height });
    expect(reads.map((read) => read.text)).toEqual(['K7FY5.1']);
  });

  it('answers calls made at the same time each with its own picture', async () => {
    const texts = ['K7FY5.1', '3M9QA.2', '77J0D.3'];
    const faces = await Promise.all(texts.map((text) => sampleQrTag(text)));
    const reads = await Promise.all(faces.map(({ face }) => decode(face)));
    expect(reads.map(([read]) => read?.text)).toEqual(texts);
  });
});
