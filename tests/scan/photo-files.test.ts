/** The kinds of file that are read, and what is said of those that are not. */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import { readPhoto } from '../../src/scan/photo.js';
import { encodePhoto, lone, NO_DAMAGE, type Photo, photograph } from '../support/camera.js';
import { type SampleTag, sampleQrTag } from '../support/sample-tag.js';

const TEXT = 'K7FY5.1';
let tag: SampleTag;
let photo: Photo;
let jpeg: Uint8Array;

beforeAll(async () => {
  tag = await sampleQrTag(TEXT);
  photo = photograph(lone(tag.face, tag.face.pxPerMmX), { ...NO_DAMAGE, pxPerMm: 5, tiltDeg: 10 }, 1);
  jpeg = await encodePhoto(photo, 'jpeg');
});

const image = () => sharp(photo.data, { raw: { width: photo.width, height: photo.height, channels: 3 } });

async function textsIn(bytes: Uint8Array): Promise<string[]> {
  return (await readPhoto(bytes)).codes.map((code) => code.text);
}

async function refusalOf(bytes: Uint8Array): Promise<InputError> {
  try {
    await readPhoto(bytes);
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('the file was read');
}

describe('readPhoto', () => {
  it.each([
    ['a JPEG', () => image().jpeg()],
    ['a progressive JPEG in grey', () => image().grayscale().jpeg({ progressive: true })],
    ['a CMYK JPEG', () => image().toColourspace('cmyk').jpeg()],
    ['a PNG', () => image().png()],
    ['a PNG with a palette', () => image().png({ palette: true, colours: 16 })],
    ['a PNG of 16 bits', () => image().toColourspace('rgb16').png()],
    ['a WebP', () => image().webp({ quality: 70 })],
    ['a WebP without loss', () => image().webp({ lossless: true })],
  ])('reads %s', async (_kind, make) => {
    const reading = await readPhoto(await make().toBuffer());
    expect(reading).toMatchObject({ widthPx: photo.width, heightPx: photo.height });
    expect(reading.codes).toMatchObject([{ text: TEXT, kind: 'qr', step: 'as taken' }]);
  });

  it.each([
    [1, 0],
    [6, 1],
    [3, 2],
    [8, 3],
  ])('turns the picture upright by EXIF orientation %d', async (orientation, quarterTurns) => {
    // Orientation 6 says "turn clockwise by 90° to show", so the stored picture is turned the other way.
    const stored = image()
      .rotate(-90 * quarterTurns)
      .png();
    const turned = await sharp(await stored.toBuffer())
      .withMetadata({ orientation })
      .jpeg()
      .toBuffer();
    const reading = await readPhoto(turned);
    expect(reading).toMatchObject({ widthPx: photo.width, heightPx: photo.height });
    const corner = reading.codes[0]?.corners[0] ?? { x: 0, y: 0 };
    const truth = photo.pixelOf(tag.symbolMm.x, tag.symbolMm.y);
    expect(Math.hypot(corner.x - truth.x, corner.y - truth.y)).toBeLessThan(4);
  });

  it('lays ink on transparency on white', async () => {
    const { data, width, height } = tag.face;
    const inkOnly = new Uint8Array(data.length * 4);
    data.forEach((value, pixel) => {
      inkOnly[4 * pixel + 3] = 255 - value;
    });
    const png = await sharp(inkOnly, { raw: { width, height, channels: 4 } })
      .png()
      .toBuffer();
    expect(await textsIn(png)).toEqual([TEXT]);
  });

  it('reads the first frame of an animation', async () => {
    const { width, height } = photo;
    const empty = await sharp({ create: { width, height, channels: 3, background: '#999' } })
      .png()
      .toBuffer();
    const frames = [await image().png().toBuffer(), empty];
    const webp = await sharp(frames, { join: { animated: true } })
      .webp({ delay: [100, 100] })
      .toBuffer();
    expect((await sharp(webp).metadata()).pages).toBe(2);
    const reading = await readPhoto(webp);
    expect(reading.heightPx).toBe(height);
    expect(reading.codes.map((code) => code.text)).toEqual([TEXT]);
  });

  it.each([
    [1, 1],
    [1, 100],
    [3, 2],
  ])('reads nothing in a picture of %d × %d pixels', async (width, height) => {
    const png = await sharp({ create: { width, height, channels: 3, background: '#444' } })
      .png()
      .toBuffer();
    expect(await readPhoto(png)).toEqual({ widthPx: width, heightPx: height, codes: [] });
  });

  it('tells an owner of HEIC pictures to send JPEG', async () => {
    // ISO/IEC 14496-12: size, "ftyp", major brand.
    const error = await refusalOf(Buffer.from('\0\0\0\x18ftypheic\0\0\0\0mif1heic', 'latin1'));
    expect(error.code).toBe('picture-kind');
    expect(`${error.message} ${error.hint}`).toMatch(/HEIC.*JPEG, PNG and WebP.*JPEG/);
  });

  it.each([
    ['an empty file', ''],
    ['a GIF', 'GIF89a\x01\0\x01\0\0\0\0;'],
    ['a PDF', '%PDF-1.7\n'],
    ['an SVG', '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'],
    ['a CSV', 'key,mother\nA1,Quillon Dusk\n'],
  ])('refuses %s', async (_kind, text) => {
    const error = await refusalOf(Buffer.from(text, 'latin1'));
    expect(error.code).toBe('not-a-picture');
    expect(error.hint).toContain('JPEG');
  });

  it.each(['jpeg', 'png', 'webp'] as const)('refuses a %s that is cut short', async (format) => {
    const bytes = await encodePhoto(photo, format);
    for (const share of [0.02, 0.3, 0.9]) {
      const error = await refusalOf(bytes.subarray(0, Math.floor(share * bytes.length)));
      expect(error.code).toBe('picture-damaged');
      expect(error.hint).toMatch(/again/);
    }
  });

  it('refuses a small file that unfolds into more than phones make', async () => {
    const create = { width: 9, height: 9, channels: 3, background: '#fff' } as const;
    const png = await sharp({ create }).png().toBuffer();
    // ISO/IEC 15948, 11.2.2: width and height open the IHDR chunk, whose check value covers its type too.
    png.writeUInt32BE(8_200, 16);
    png.writeUInt32BE(6_400, 20);
    png.writeUInt32BE(crc32(png.subarray(12, 29)), 29);
    const error = await refusalOf(png);
    expect(error.code).toBe('picture-too-large');
  });

  it('ends in a reading or an InputError, whatever bytes are changed', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(jpeg.length - 1), fc.integer({ min: 0, max: 255 })), { maxLength: 20 }),
        async (changes) => {
          const bytes = new Uint8Array(jpeg);
          for (const [at, value] of changes) bytes[at] = value;
          try {
            const { codes } = await readPhoto(bytes);
            for (const code of codes) expect(code.text).toBe(TEXT);
          } catch (error) {
            expect(error).toBeInstanceOf(InputError);
          }
        },
      ),
      { seed: 20261125, numRuns: 25 },
    );
  });

  it('loads the image library only when a photo is read', async () => {
    const create = { width: 9, height: 9, channels: 3, background: '#fff' } as const;
    const png = (await sharp({ create }).png().toBuffer()).toString('base64');
    const module = fileURLToPath(new URL('../../src/scan/photo.ts', import.meta.url));
    const script = `
      const loaded = () => process.report.getReport().sharedObjects.some((file) => file.includes('sharp'));
      const { readPhoto } = await import(${JSON.stringify(module)});
      const before = loaded();
      await readPhoto(Buffer.from('${png}', 'base64'));
      console.log(JSON.stringify({ before, after: loaded() }));`;
    const run = spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', script], {
      encoding: 'utf8',
    });
    expect(run.stderr).toBe('');
    expect(JSON.parse(run.stdout)).toEqual({ before: false, after: true });
  });
});

/** The check value of PNG chunks (ISO/IEC 15948, annex D). */
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
