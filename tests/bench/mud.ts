/**
 * Design section 10: tags of five stocks with mud over their symbol, through all that reads a photo; and through the
 * common decoders alone, where the mud is least.
 */
import { isOffered, isRead } from '../../src/scan/reading/read.js';
import { TagReader, type TagsRead } from '../../src/scan/tag-reader.js';
import { encodePhoto, grayOf, lone, photograph } from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { type Random, seededRandom } from '../support/random.js';
import type { BenchRow } from './measure.js';
import { pick } from './nothing-faces.js';
import { weatherTags } from './weather.js';
import { damageOf, KINDS } from './weather-damage.js';
import { ledgerTexts, PLANTS, tagsOnce, type WeatherTag } from './weather-tags.js';

const PHOTOS = 100;
/** Of the symbol under mud; and of a hundred tags so many are to be read or offered. */
const LEVELS = [
  { share: 0.2, bar: 99 },
  { share: 0.4, bar: 95 },
  { share: 0.6, bar: 80 },
] as const;
const ALONE_BAR = 2;

export async function benchMud(photos = PHOTOS, seed = 20261128): Promise<BenchRow[]> {
  console.log(`mud: seed ${seed}`);
  const tags = await weatherTags();
  const known = ledgerTexts();
  const reader = new TagReader(tagsOnce(known), 5);
  const random = seededRandom(seed);
  const rows: BenchRow[] = [];
  for (const [index, { share, bar }] of LEVELS.entries()) {
    const counts = { read: 0, offered: 0, wrongRead: 0, wrongOffered: 0 };
    const alone = { zxing: 0, zbar: 0 };
    for (let photo = 0; photo < photos; photo++) {
      if (photo % 10 === 0) console.error(`mud over ${share}: ${photo} of ${photos} photos`);
      const tag = pick(tags[photo % tags.length] ?? [], random);
      const picture = muddy(tag, share, random);
      const outcome = outcomeOf(await reader.read(await encodePhoto(picture, 'png')), tag.text, known);
      for (const what of outcome) counts[what]++;
      if (index > 0) continue;
      const gray = grayOf(picture);
      alone.zxing += Number((await readWithZxing(gray)).some(({ text }) => text === tag.text));
      alone.zbar += Number((await readWithZbar(gray)).some(({ text }) => text === tag.text));
    }
    const { read, offered, wrongRead, wrongOffered } = counts;
    const percent = `${100 * share} %`;
    rows.push({
      what: `tags with mud over ${percent} of the symbol, ${PLANTS.toLocaleString('en')} plants`,
      measured: `read ${read}, offered ${offered} of ${photos}; wrong plants read ${wrongRead}, offered ${wrongOffered}`,
      bar: `≥ ${bar} of 100, none wrong read`,
      holds: read + offered >= (bar / 100) * photos && wrongRead === 0,
    });
    if (index > 0) continue;
    rows.push({
      what: `the same, mud over ${percent}, the common decoders alone`,
      measured: `ZXing ${alone.zxing}, ZBar ${alone.zbar} of ${photos}`,
      bar: `≤ ${ALONE_BAR} of 100 each`,
      holds: Math.max(alone.zxing, alone.zbar) <= (ALONE_BAR / 100) * photos,
    });
  }
  return rows;
}

function muddy(tag: WeatherTag, share: number, random: Random) {
  const mud = KINDS.find(({ name }) => name === 'mud');
  if (mud === undefined) throw new Error('no kind of damage is called mud');
  const damage = damageOf(mud, share, tag, random);
  return photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31));
}

type Outcome = 'read' | 'offered' | 'wrongRead' | 'wrongOffered';

/** Whether the tag's plant was read, or else offered; and whether another one was. */
function outcomeOf({ texts, damaged }: TagsRead, right: string, known: readonly string[]): Set<Outcome> {
  const decoded = texts.filter((text) => known.includes(text));
  const read = [...decoded, ...damaged.filter(isRead).map(textOf)].map(plantOf);
  const offered = damaged.filter(isOffered).map(textOf).map(plantOf);
  const plant = plantOf(right);
  const outcomes = new Set<Outcome>();
  if (read.includes(plant)) outcomes.add('read');
  else if (offered.includes(plant)) outcomes.add('offered');
  if (read.some((one) => one !== plant)) outcomes.add('wrongRead');
  else if (offered.some((one) => one !== plant)) outcomes.add('wrongOffered');
  return outcomes;
}

const textOf = ({ suspects: [first] }: TagsRead['damaged'][number]): string => first?.text ?? '';
const plantOf = (text: string): string => text.split('.')[0] ?? '';
