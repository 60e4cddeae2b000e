/**
 * What a browser's fake camera shows: a printed tag, as the command drew it, held before the lens.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import sharp from 'sharp';
import type { Bench } from '../support/pottag.js';
import { seededRandom } from '../support/random.js';
import { cutOut, type GrayImage, rasterisePdf } from '../support/rasterise.js';

const WIDTH = 640;
const HEIGHT = 480;
/** The tag takes this much of the picture's width. */
const TAG_WIDTH = 420;
/** Of a greenhouse bench, more or less. */
const GROUND = 110;

interface TagsDocument {
  readonly tags: readonly {
    readonly text: string;
    readonly page: number;
    readonly box_mm: {
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
    };
  }[];
}

/** Prints the tag of a plant and returns its text and its face as printed. */
export async function printedTag(bench: Bench, id: string): Promise<{ text: string; face: GrayImage }> {
  const args = ['tags', id, '--stock', 'a4-24-64x34', '--out', 'tag.pdf'];
  const [tag] = bench.json<TagsDocument>(0, args).tags;
  const pages = await rasterisePdf(readFileSync(bench.file('tag.pdf')), 300);
  const page = pages[(tag?.page ?? 0) - 1];
  if (tag === undefined || page === undefined) throw new Error('one tag was printed');
  return { text: tag.text, face: cutOut(page, tag.box_mm) };
}

/** The tag a little turned, on a darker ground. */
export async function cameraPicture({ data, width, height }: GrayImage): Promise<Buffer> {
  const tag = await sharp(data, { raw: { width, height, channels: 1 } })
    .resize({ width: TAG_WIDTH })
    .rotate(7, { background: { r: GROUND, g: GROUND, b: GROUND } })
    .png()
    .toBuffer();
  const background = { r: GROUND, g: GROUND, b: GROUND };
  return sharp({ create: { width: WIDTH, height: HEIGHT, channels: 3, background } })
    .composite([{ input: tag, gravity: 'centre' }])
    .blur(0.6)
    .png()
    .toBuffer();
}

/**
 * The same under mud that takes two finder patterns and more, as often as asked, each time with other noise and
 * with the glare elsewhere.
 */
export async function muddyPictures(picture: Buffer, count: number): Promise<Buffer[]> {
  const mud = `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" fill="#4a4038">
    <path d="M120 130 q70 -40 130 10 q20 60 -30 70 q-60 30 -90 -10 q-40 -30 -10 -70"/>
    <ellipse cx="180" cy="275" rx="34" ry="26"/></svg>`;
  const muddy = await sharp(picture)
    .composite([{ input: Buffer.from(mud) }])
    .blur(0.8)
    .toColourspace('b-w')
    .raw()
    .toBuffer();
  const random = seededRandom(7);
  const noise = () => 4 * random.normal();
  return Promise.all(
    Array.from({ length: count }, (_, index) => {
      const [x, y] = [200 + 30 * index, 180 + 20 * index];
      const noisy = Buffer.from(
        muddy.map((level, pixel) => {
          const far = Math.hypot((pixel % WIDTH) - x, Math.floor(pixel / WIDTH) - y);
          return Math.max(0, Math.min(255, level + noise() + Math.max(0, 120 - 3 * far)));
        }),
      );
      return sharp(noisy, { raw: { width: WIDTH, height: HEIGHT, channels: 1 } })
        .png()
        .toBuffer();
    }),
  );
}

/** Options for a browser whose camera shows a film. */
export const cameraShowing = (film: string): readonly string[] => [
  '--use-fake-device-for-media-stream',
  '--use-fake-ui-for-media-stream',
  `--use-file-for-fake-video-capture=${film}`,
];

/** A film of these pictures, each for a second, over and over: YUV4MPEG2, 4:2:0, without colour. */
export async function writeFilm(file: string, pictures: readonly Buffer[]): Promise<void> {
  const chroma = Buffer.alloc((WIDTH * HEIGHT) / 2, 128);
  const parts: Buffer[] = [Buffer.from(`YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420jpeg\n`)];
  for (const picture of pictures) {
    const gray = await sharp(picture).toColourspace('b-w').raw().toBuffer();
    for (let frame = 0; frame < 10; frame++) parts.push(Buffer.from('FRAME\n'), gray, chroma);
  }
  writeFileSync(file, Buffer.concat(parts));
}
