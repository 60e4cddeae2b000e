/**
 * Real photographs, from the test samples of the barcode library zxing-cpp (Apache License 2.0), where
 * they are at hand beside the repository; each with its true text in a file of the same name.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { readPhoto } from '../../src/scan/photo.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import type { GrayImage } from '../support/rasterise.js';

const FOLDER = join(import.meta.dirname, '../../../shared/pictures');
const isAtHand = existsSync(FOLDER);
if (!isAtHand) console.warn(`The real photographs are not at hand (${FOLDER}): their tests are skipped.`);

/** The text of a tag: five to seven characters of Crockford's Base32 and perhaps an issue. */
const TAG_LIKE = /^[0-9A-HJKMNP-TV-Z]{5,7}(\.\d+)?$/i;

const picturesIn = (folder: string): string[] =>
  readdirSync(join(FOLDER, folder))
    .filter((name) => !name.endsWith('.txt'))
    .map((name) => join(FOLDER, folder, name));

async function grayOfFile(path: string): Promise<GrayImage> {
  const pipeline = sharp(path).flatten({ background: '#fff' }).toColourspace('b-w').raw();
  const { data, info } = await pipeline.toBuffer({ resolveWithObject: true });
  return { data: new Uint8Array(data), width: info.width, height: info.height };
}

describe.skipIf(!isAtHand)('real photographs (in ../shared/pictures)', () => {
  it.each(['qrcode-4', 'qrcode-5', 'code128-1'])(
    'of %s: read rightly, and as often as by either decoder',
    async (folder) => {
      for (const path of picturesIn(folder)) {
        const truth = readFileSync(path.replace(/\.\w+$/, '.txt'), 'utf8');
        const { codes } = await readPhoto(readFileSync(path));
        for (const code of codes) expect(code.text).toBe(truth);
        const gray = await grayOfFile(path);
        const alone = [...(await readWithZxing(gray)), ...(await readWithZbar(gray))];
        if (alone.some((read) => read.text === truth)) expect(codes, path).toHaveLength(1);
      }
    },
  );

  it('of things that hold no code: nothing is read', async () => {
    const pictures = picturesIn('falsepositives-1');
    expect(pictures.length).toBeGreaterThan(20);
    for (const path of pictures) {
      const { codes } = await readPhoto(readFileSync(path));
      expect(
        codes.filter((code) => TAG_LIKE.test(code.text)),
        path,
      ).toEqual([]);
      expect(codes, path).toEqual([]);
    }
  });
});
