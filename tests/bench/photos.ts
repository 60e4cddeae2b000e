/**
 * Design section 10: photos by the two decoders and their preparations. Never less is read than by either decoder
 * alone, and no plant in pictures that hold none.
 */
import { readPicture } from '../../src/scan/photo.js';
import { grayOf, lone, photograph } from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { seededRandom } from '../support/random.js';
import type { BenchRow } from './measure.js';
import { pick } from './nothing-faces.js';
import { damageOf, KINDS } from './weather-damage.js';
import { picturesOfNothing } from './weather-none.js';
import { printTags, STOCKS } from './weather-tags.js';

const TAGS_EACH = 12;
/** Takes about an hour and a half of processor time. */
const PICTURES_OF_NOTHING = 10_000;

export async function benchPhotos(pictures = PICTURES_OF_NOTHING, seed = 20261128): Promise<BenchRow[]> {
  console.log(`photos: seed ${seed}`);
  return [await neverLess(seed), await noFalsePlant(pictures, seed)];
}

/** A tag of each stock and symbol under every kind and level of damage. */
async function neverLess(seed: number): Promise<BenchRow> {
  const random = seededRandom(seed);
  const counts = { photos: 0, zxing: 0, zbar: 0, both: 0, missed: 0 };
  for (const symbol of ['qr', 'code128'] as const) {
    const tags = await Promise.all(STOCKS.map((stock) => printTags(stock, TAGS_EACH, [], symbol)));
    for (const kind of KINDS) {
      console.error(`${symbol} under ${kind.name}: ${counts.photos} photos before`);
      for (const level of kind.levels) {
        for (const ofStock of tags) {
          const tag = pick(ofStock, random);
          const damage = damageOf(kind, level, tag, random);
          const gray = grayOf(photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31)));
          const isRight = ({ text }: { readonly text: string }): boolean => text === tag.text;
          const byZxing = (await readWithZxing(gray)).some(isRight);
          const byZbar = (await readWithZbar(gray)).some(isRight);
          const byBoth = (await readPicture(gray)).codes.some(isRight);
          counts.photos++;
          counts.zxing += Number(byZxing);
          counts.zbar += Number(byZbar);
          counts.both += Number(byBoth);
          counts.missed += Number((byZxing || byZbar) && !byBoth);
        }
      }
    }
  }
  const { photos, zxing, zbar, both, missed } = counts;
  return {
    what: 'photos of damaged tags that a decoder alone reads and both together do not',
    measured: `${missed} of ${photos} (read by ZXing ${zxing}, ZBar ${zbar}, both with preparations ${both})`,
    bar: 'none',
    holds: missed === 0 && zxing + zbar > 0,
  };
}

async function noFalsePlant(pictures: number, seed: number): Promise<BenchRow> {
  const results = await picturesOfNothing(pictures, seed, 'decoders', undefined, (done) => {
    if (done % 250 === 0) console.error(`${done} of ${pictures} pictures without a tag`);
  });
  const read = results.reduce((sum, result) => sum + result.read, 0);
  return {
    what: 'plants that the decoders read in pictures without a tag',
    measured: `${read} in ${pictures.toLocaleString('en')}`,
    bar: 'none',
    holds: read === 0,
  };
}
