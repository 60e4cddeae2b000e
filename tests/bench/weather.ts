/**
 * Reading damaged tags: the decoders alone, both with all preparations, and the reader by the ledger, by
 * kind and level of damage. `npm run bench:weather -- [photos a level] [seed] [curves.png]`; the variable
 * WEATHER_KINDS names the kinds to run, if not all.
 */

import { writeFileSync } from 'node:fs';
import { readPicture } from '../../src/scan/photo.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT, READ_AT, readByLedger } from '../../src/scan/reading/read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import { packTagCodes, type TagCodes } from '../../src/scan/reading/tag-codes.js';
import { grayOf, lone, photograph } from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { seededRandom } from '../support/random.js';
import { curves } from './weather-curves.js';
import { type DamageKind, damageOf, FAR, KINDS } from './weather-damage.js';
import { ledgerTexts, printTags, STOCKS, type WeatherTag } from './weather-tags.js';

export const READERS = ['zxing', 'zbar', 'both', 'read', 'offered'] as const;
export type Reader = (typeof READERS)[number];

export interface LevelResult {
  readonly kind: DamageKind;
  readonly level: number;
  readonly photoCount: number;
  /** How many photos each reader resolved; `offered` counts those read too. */
  readonly resolved: Readonly<Record<Reader, number>>;
  /** Texts of other plants, read or offered by the ledger reader; and read by either decoder. */
  readonly wrongRead: number;
  readonly wrongOffered: number;
  readonly wrongDecoded: number;
  /** Photos that a decoder alone read and all of this together did not: none, or the merging is at fault. */
  readonly missed: number;
}

const TAGS_EACH = 12;

export async function weatherTags(): Promise<WeatherTag[][]> {
  const all: WeatherTag[][] = [];
  for (const stock of STOCKS) all.push(await printTags(stock, TAGS_EACH));
  return all;
}

export function weatherCodes(): TagCodes {
  const texts = ledgerTexts();
  return packTagCodes(texts, strangersTo(new Set(texts), 5));
}

/** `photoCount` photos of tags of all stocks that suit by turns, each with its own damage of this kind and level. */
export async function runLevel(
  kind: DamageKind,
  level: number,
  photoCount: number,
  seed: number,
  tags: readonly (readonly WeatherTag[])[],
  codes: TagCodes,
): Promise<LevelResult> {
  const resolved = { zxing: 0, zbar: 0, both: 0, read: 0, offered: 0 };
  const wrong = { read: 0, offered: 0, decoded: 0 };
  let missed = 0;
  const suiting = tags.filter(([tag]) => tag !== undefined && (kind.suits?.(level, tag) ?? true));
  const random = seededRandom(seed);
  for (let photo = 0; photo < photoCount; photo++) {
    const ofStock = suiting[photo % suiting.length] as readonly WeatherTag[];
    const tag = ofStock[random.below(ofStock.length)] as WeatherTag;
    const damage = damageOf(kind, level, tag, random);
    const picture = photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31));
    const gray = grayOf(picture);
    const isRight = ({ text }: { readonly text: string }): boolean => text === tag.text;
    const byZxing = (await readWithZxing(gray)).some(isRight);
    const byZbar = (await readWithZbar(gray)).some(isRight);
    resolved.zxing += Number(byZxing);
    resolved.zbar += Number(byZbar);
    const { codes: decoded } = await readPicture(gray);
    const isDecoded = decoded.some(isRight);
    resolved.both += Number(isDecoded);
    wrong.decoded += Number(decoded.some((code) => !isRight(code)));
    const [first] = readByLedger(searchable(picture), codes)[0]?.suspects ?? [];
    const probability = first?.probability ?? 0;
    const isSame = first !== undefined && isRight(first);
    const isRead = isDecoded || (isSame && probability >= READ_AT);
    resolved.read += Number(isRead);
    missed += Number((byZxing || byZbar) && !isRead);
    resolved.offered += Number(isDecoded || (isSame && probability >= OFFERED_AT));
    wrong.read += Number(!isSame && probability >= READ_AT);
    wrong.offered += Number(!isSame && probability >= OFFERED_AT && probability < READ_AT);
  }
  return {
    kind,
    level,
    photoCount,
    resolved,
    wrongRead: wrong.read,
    wrongOffered: wrong.offered,
    wrongDecoded: wrong.decoded,
    missed,
  };
}

function rowOf({ kind, level, photoCount, resolved, ...wrong }: LevelResult): (string | number)[] {
  const shares = READERS.map((reader) => `${Math.round((100 * resolved[reader]) / photoCount)} %`);
  return [kind.name, level, ...shares, wrong.wrongRead, wrong.wrongOffered, wrong.wrongDecoded, wrong.missed];
}

async function main(photoCount: number, seed: number, picture: string | undefined): Promise<void> {
  const [tags, codes] = [await weatherTags(), weatherCodes()];
  const results: LevelResult[] = [];
  const only = process.env.WEATHER_KINDS?.split(',');
  console.log(['damage', 'level', ...READERS, 'wrong: read', 'offered', 'decoded', 'missed'].join('\t'));
  for (const kind of [...KINDS, FAR].filter(({ name }) => only?.includes(name) ?? true)) {
    for (const level of kind.levels) {
      const result = await runLevel(kind, level, photoCount, seed + results.length * 7919, tags, codes);
      results.push(result);
      console.log(rowOf(result).join('\t'));
    }
  }
  if (picture !== undefined) writeFileSync(picture, await curves(results));
}

if (process.argv[1]?.endsWith('weather.ts')) {
  const [, , count = '20', seed = String(Date.now() % 2 ** 31), picture] = process.argv;
  console.log(`${count} photos a level, seed ${seed}`);
  await main(Number(count), Number(seed), picture);
}
