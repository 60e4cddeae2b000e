/**
 * Reading tags whose symbol is scraped off, by their printed ID alone: by kind and level of damage to the whole
 * tag, each held against a ledger that holds it and three that do not; and whether what is said can be believed.
 * `npm run bench:id -- [photos a level] [seed]`.
 */

import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT } from '../../src/scan/reading/read.js';
import { judgeRow, rowsIn } from '../../src/scan/reading/rows-read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import { packTagCodes } from '../../src/scan/reading/tag-codes.js';
import { lone, photograph } from '../support/camera.js';
import { seededRandom } from '../support/random.js';
import { withoutSymbol } from '../support/without-symbol.js';
import { Tally } from './calibration-tally.js';
import { type DamageKind, damageOf, KINDS } from './weather-damage.js';
import { ledgerTexts, PLANTS, printTags, STOCKS } from './weather-tags.js';

const TAGS_EACH = 12;
const ID_LENGTH = 5;
/** First plants of ledgers that hold none of the tags. */
const FOREIGN = [1, 3, 7].map((ledger) => ledger * PLANTS + 1);

async function main(photoCount: number, seed: number): Promise<void> {
  const tags = await Promise.all(
    STOCKS.map(async (stock) => (await printTags(stock, TAGS_EACH)).map(withoutSymbol)),
  );
  const [own, ...foreign] = [1, ...FOREIGN].map((first) => {
    const texts = ledgerTexts(first);
    return packTagCodes(texts, strangersTo(new Set(texts), ID_LENGTH));
  });
  if (own === undefined) throw new Error('a ledger');
  const tally = new Tally();
  const random = seededRandom(seed);
  const run = (kind: DamageKind, level: number): void => {
    const counts = { offered: 0, wrong: 0, foreign: 0 };
    for (let photo = 0; photo < photoCount; photo++) {
      const ofStock = tags[photo % tags.length] ?? [];
      const tag = ofStock[random.below(ofStock.length)];
      if (tag === undefined) continue;
      const damage = { ...damageOf(kind, level, tag, random), dirtBox: null };
      const picture = photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31));
      const rows = rowsIn(searchable(picture), ID_LENGTH);
      const surest = (codes: typeof own) =>
        rows
          .map((row) => judgeRow(codes, row)[0])
          .sort((a, b) => (b?.probability ?? 0) - (a?.probability ?? 0))[0];
      const first = surest(own);
      const isRight = first?.text === tag.text;
      if (first !== undefined) tally.add(first.probability, isRight ? 'right' : 'wrong');
      if (first !== undefined && first.probability >= OFFERED_AT) counts[isRight ? 'offered' : 'wrong']++;
      for (const codes of foreign) {
        const other = surest(codes);
        if (other === undefined) continue;
        tally.add(other.probability, 'foreign');
        if (other.probability < OFFERED_AT) continue;
        counts.foreign++;
        console.log(`${tag.text} taken for ${other.text}: ${other.probability}`);
      }
    }
    console.log([kind.name, level, photoCount, ...Object.values(counts)].join('\t'));
  };
  console.log('damage\tlevel\tphotos\toffered\twrong\tof another ledger');
  for (const kind of KINDS) for (const level of kind.levels) run(kind, level);
  for (const line of tally.lines()) console.log(line);
}

const [, , count = '10', seed = String(Date.now() % 2 ** 31)] = process.argv;
console.log(`${count} photos a level, seed ${seed}`);
await main(Number(count), Number(seed));
