/**
 * Reading damaged Code 128 tags: the decoders alone, both with all preparations, and where they read nothing the
 * reader by the ledger, by kind and level of damage.
 * `npm run bench:bars -- [photos a level] [seed]`; the variable WEATHER_KINDS names the kinds to
 * run, if not all.
 */

import { readPicture } from '../../src/scan/photo.js';
import { packBarCodes } from '../../src/scan/reading/bars-codes.js';
import { readBarsByLedger } from '../../src/scan/reading/bars-read.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT, READ_AT } from '../../src/scan/reading/read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import { grayOf, lone, photograph } from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { seededRandom } from '../support/random.js';
import { type DamageKind, damageOf, KINDS } from './weather-damage.js';
import { ledgerTexts, printTags, STOCKS } from './weather-tags.js';

const TAGS_EACH = 12;
const BAR_KINDS = ['mud', 'glare', 'scratches', 'blur', 'pot', 'mixture'];

async function main(photoCount: number, seed: number): Promise<void> {
  const tags = await Promise.all(STOCKS.map((stock) => printTags(stock, TAGS_EACH, [], 'code128')));
  const texts = ledgerTexts();
  const groups = packBarCodes(texts, strangersTo(new Set(texts), 5));
  const only = process.env.WEATHER_KINDS?.split(',') ?? BAR_KINDS;
  const percent = (count: number): string => `${Math.round((100 * count) / photoCount)} %`;
  console.log('damage\tlevel\tzxing\tzbar\tboth\tread\toffered\twrong: read\toffered\tdecoded');
  const run = async (kind: DamageKind, level: number, levelSeed: number): Promise<void> => {
    const random = seededRandom(levelSeed);
    const right = { zxing: 0, zbar: 0, both: 0, read: 0, offered: 0 };
    const wrong = { read: 0, offered: 0, decoded: 0 };
    for (let photo = 0; photo < photoCount; photo++) {
      const ofStock = tags[photo % tags.length] ?? [];
      const tag = ofStock[random.below(ofStock.length)];
      if (tag === undefined) continue;
      const damage = damageOf(kind, level, tag, random);
      const picture = photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31));
      const gray = grayOf(picture);
      const isRight = ({ text }: { readonly text: string }): boolean => text === tag.text;
      right.zxing += Number((await readWithZxing(gray)).some(isRight));
      right.zbar += Number((await readWithZbar(gray)).some(isRight));
      const { codes } = await readPicture(gray);
      const isDecoded = codes.some(isRight);
      right.both += Number(isDecoded);
      wrong.decoded += Number(codes.some((code) => !isRight(code)));
      const readings = isDecoded ? [] : readBarsByLedger(searchable(picture), groups);
      const suspects = readings.flatMap((reading) => reading.suspects.slice(0, 1));
      const best = suspects.find(isRight)?.probability ?? 0;
      const misled = Math.max(0, ...suspects.map((one) => (isRight(one) ? 0 : one.probability)));
      right.read += Number(isDecoded || best >= READ_AT);
      right.offered += Number(isDecoded || best >= OFFERED_AT);
      wrong.read += Number(misled >= READ_AT);
      wrong.offered += Number(misled >= OFFERED_AT && misled < READ_AT);
    }
    console.log([kind.name, level, ...Object.values(right).map(percent), ...Object.values(wrong)].join('\t'));
  };
  let levelSeed = seed;
  for (const kind of KINDS.filter(({ name }) => only.includes(name))) {
    for (const level of kind.levels) {
      await run(kind, level, levelSeed);
      levelSeed += 7919;
    }
  }
}

const [, , count = '20', seed = String(Date.now() % 2 ** 31)] = process.argv;
console.log(`${count} photos a level, seed ${seed}`);
await main(Number(count), Number(seed));
