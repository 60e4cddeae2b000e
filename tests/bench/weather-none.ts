/**
 * Pictures that hold no tag of the ledger, of 3,000 plants, through all that reads a photo: none may become a plant.
 * `npm run bench:none -- [pictures] [seed] [all | decoders | ledger | finders | id] [folder of photographs]`: by all
 * means; by the decoders and their preparations alone; or by the ledger alone, whatever the decoders would have read; of
 * that, only where finder patterns are seen, whatever frames show, or by the printed ID alone, which is shown labels with
 * capitals besides. Photographs of that folder, which hold no tag, are seen in parts too.
 */

import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { readPhoto } from '../../src/scan/photo.js';
import { loadColours } from '../../src/scan/picture.js';
import { offeredByBars } from '../../src/scan/reading/bars-read.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { OFFERED_AT, READ_AT, readByFinders, readByLedger } from '../../src/scan/reading/read.js';
import { offeredByRows, readRowsByLedger } from '../../src/scan/reading/rows-read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import { packTagCodes, type TagCodes } from '../../src/scan/reading/tag-codes.js';
import { type DamagedTag, type TagPart, TagReader, type TagsRead } from '../../src/scan/tag-reader.js';
import { lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { type Random, seededRandom } from '../support/random.js';
import { nothingOfOurs, type Thing } from './nothing-faces.js';
import { labelWithCapitals } from './nothing-labels.js';
import { damageOf, KINDS } from './weather-damage.js';
import { ledgerTexts, tagsOnce } from './weather-tags.js';

export interface NoneResult {
  readonly name: string;
  pictures: number;
  /** In which a tag of the ledger was read, or offered as likely, or named as possible. */
  read: number;
  offered: number;
  named: number;
}

const MEANS = ['all', 'decoders', 'ledger', 'finders', 'id'] as const;
export type Means = (typeof MEANS)[number];

const PHOTOGRAPH = 'photograph';
/** Every so many-th picture is part of a photograph. */
const PHOTOGRAPH_EVERY = 12;

export async function picturesOfNothing(
  count: number,
  seed: number,
  by: Means,
  photographs: string | undefined,
  onDone: (done: number) => void = () => {},
): Promise<NoneResult[]> {
  const texts = ledgerTexts();
  const known = new Set(texts);
  const reader = new TagReader(tagsOnce(texts), 5);
  const codes = packTagCodes(texts, strangersTo(known, 5));
  const read: Record<Means, (bytes: Buffer) => Promise<TagsRead>> = {
    all: (bytes) => reader.read(bytes),
    decoders: byDecoders,
    ledger: (bytes) => byLedger(bytes, codes),
    finders: (bytes) => byFinders(bytes, codes),
    id: (bytes) => byId(bytes, codes),
  };
  // Not for the other means: their pictures of a seed stay what they were when they were counted (docs/reading.md).
  const labels = by === 'id' ? [await labelWithCapitals(seed)] : [];
  const things = [...(await nothingOfOurs()), ...labels];
  const files = photographs === undefined ? [] : filesIn(photographs);
  const random = seededRandom(seed);
  const results = new Map<string, NoneResult>();
  for (let picture = 0; picture < count; picture++) {
    const isPhotograph = files.length > 0 && picture % PHOTOGRAPH_EVERY === 0;
    const thing = things[picture % things.length] as Thing;
    const bytes = isPhotograph
      ? await partOf(files[random.below(files.length)] as string, random)
      : await pictureOf(thing, random);
    const name = isPhotograph ? PHOTOGRAPH : thing.name;
    const result = results.get(name) ?? { name, pictures: 0, read: 0, offered: 0, named: 0 };
    results.set(name, result);
    const { texts: decoded, damaged } = await read[by](bytes);
    const surest = Math.max(0, ...damaged.map(({ suspects: [first] }) => first?.probability ?? 0));
    result.pictures++;
    result.read += Number(decoded.some((text) => known.has(text)) || surest >= READ_AT);
    result.offered += Number(surest >= OFFERED_AT && surest < READ_AT);
    result.named += Number(surest >= 0.01 && surest < OFFERED_AT);
    onDone(picture + 1);
  }
  return [...results.values()];
}

async function byDecoders(bytes: Buffer): Promise<TagsRead> {
  const { codes } = await readPhoto(bytes);
  return { texts: codes.map(({ text }) => text), damaged: [] };
}

async function byLedger(bytes: Buffer, codes: TagCodes): Promise<TagsRead> {
  const picture = searchable(await loadColours(bytes));
  const damaged = [
    ...seen('symbol', readByLedger(picture, codes)),
    ...seen('bars', offeredByBars(picture, codes)),
    ...seen('id', offeredByRows(picture, codes)),
  ];
  return { texts: [], damaged };
}

const seen = (part: TagPart, readings: readonly Pick<DamagedTag, 'suspects'>[]): DamagedTag[] =>
  readings.map(({ suspects }) => ({ part, suspects, shown: null }));

async function byFinders(bytes: Buffer, codes: TagCodes): Promise<TagsRead> {
  const picture = searchable(await loadColours(bytes));
  return { texts: [], damaged: seen('symbol', readByFinders(picture, codes)) };
}

async function byId(bytes: Buffer, codes: TagCodes): Promise<TagsRead> {
  const rows = readRowsByLedger(searchable(await loadColours(bytes)), codes);
  return { texts: [], damaged: seen('id', rows) };
}

async function pictureOf({ draw }: Thing, random: Random): Promise<Buffer> {
  const { face, facePxPerMm } = draw(random);
  const extentMm = Math.max(face.width, face.height) / facePxPerMm;
  // Some 150 to 330 pixels for the thing, about half as much again for the picture.
  const pxPerMm = Math.min(facePxPerMm, random.between(150, 330) / extentMm);
  const whole = { x: 0, y: 0, width: face.width / facePxPerMm, height: face.height / facePxPerMm };
  const kind = KINDS[random.below(KINDS.length)] ?? KINDS[0];
  if (kind === undefined) throw new Error('a kind of damage');
  const tag = { text: '', face, facePxPerMm, moduleMm: 0.6, symbolMm: whole };
  const level = kind.levels[random.below(kind.levels.length)] as number;
  const damage = random.next() < 0.25 ? { ...NO_DAMAGE } : damageOf(kind, level, tag, random);
  const photo = photograph(lone(face, facePxPerMm), { ...damage, pxPerMm }, random.below(2 ** 31));
  return pngOf(photo);
}

function pngOf({
  data,
  width,
  height,
}: {
  data: Uint8Array;
  width: number;
  height: number;
}): Promise<Buffer> {
  return sharp(data, { raw: { width, height, channels: 3 } })
    .png({ compressionLevel: 0 })
    .toBuffer();
}

function filesIn(folder: string): string[] {
  if (!existsSync(folder)) throw new Error(`There is no ${folder}.`);
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.(png|webp|jpe?g)$/.test(name))
    .map((name) => join(folder, name))
    .sort();
}

/** A part of a photograph, turned and scaled. */
async function partOf(file: string, random: Random): Promise<Buffer> {
  const turned = sharp(file)
    .flatten({ background: '#888' })
    .rotate(random.below(360), { background: '#888' });
  const { data, info } = await turned
    .removeAlpha()
    .png({ compressionLevel: 0 })
    .toBuffer({ resolveWithObject: true });
  const share = random.between(0.4, 1);
  const [width, height] = [Math.ceil(info.width * share), Math.ceil(info.height * share)];
  const left = random.below(info.width - width + 1);
  const top = random.below(info.height - height + 1);
  return sharp(data)
    .extract({ left, top, width, height })
    .resize(400 + random.below(500))
    .png({ compressionLevel: 0 })
    .toBuffer();
}

if (process.argv[1]?.includes('weather-none')) {
  const [, , count = '200', seed = String(Date.now() % 2 ** 31), by = 'all', folder] = process.argv;
  const means = MEANS.find((one) => one === by);
  if (means === undefined) throw new Error(`by ${MEANS.join(', ')}, not ${by}`);
  const results = await picturesOfNothing(Number(count), Number(seed), means, folder, (done) => {
    if (done % 250 === 0) console.error(`${done} pictures`);
  });
  console.log(`${count} pictures by ${by}, seed ${seed}`);
  console.log(['what', 'pictures', 'read', 'offered', 'named'].join('\t'));
  for (const { name, pictures, read, offered, named } of results) {
    console.log([name, pictures, read, offered, named].join('\t'));
  }
  const wrong = results.reduce((sum, { read }) => sum + read, 0);
  console.log(`${wrong} wrong plants`);
  process.exitCode = wrong === 0 ? 0 : 1;
}
