/**
 * Whether the probabilities of the reader of damaged Code 128 can be believed: printed tags from the rasterised
 * PDF, photographed under the heavier levels of all kinds of damage, each held against ledgers that hold it and
 * ledgers that do not; and bars, stripes and text of other things.
 * `npm run bench:calibration-bars -- [scenes] [seed]`; half of the scenes hold a tag.
 */

import type { ColourPicture } from '../../src/scan/picture.js';
import { type BarGroup, packBarCodes } from '../../src/scan/reading/bars-codes.js';
import { judgeBars } from '../../src/scan/reading/bars-judge.js';
import { readBarsByLedger } from '../../src/scan/reading/bars-read.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import type { Suspect } from '../../src/scan/reading/posterior.js';
import { OFFERED_AT, READ_AT } from '../../src/scan/reading/read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import { type Damage, lone, photograph } from '../support/camera.js';
import { type Random, seededRandom } from '../support/random.js';
import { Tally } from './calibration-tally.js';
import { barsOfNothing } from './nothing-bars.js';
import { pick, type Thing } from './nothing-faces.js';
import { damageOf, KINDS } from './weather-damage.js';
import { ledgerTexts, PLANTS, printTags, STOCKS, type WeatherTag } from './weather-tags.js';

const TAGS_EACH = 24;
/** Of a tag's face so much is photographed around its symbol. */
const MARGIN_MM = 5;
const LEAST_PX = 1.5;
const MOST_PX = 4.2;
/** Share of the scenes that bear damage of two kinds. */
const MIXED_SHARE = 0.4;

interface HeldAgainst {
  readonly texts: ReadonlySet<string>;
  readonly group: BarGroup;
}

/**
 * One that holds all first tags that are printed here; one that holds half of them, and their second ones; and
 * two that hold none.
 */
function ledgers(): readonly [HeldAgainst, ...HeldAgainst[]] {
  const half = ledgerTexts().slice(0, PLANTS / 2);
  return [
    heldAgainst(ledgerTexts()),
    heldAgainst([...half, ...half.map((text) => text.replace('.1', '.2'))]),
    heldAgainst(ledgerTexts(3 * PLANTS + 1)),
    heldAgainst(ledgerTexts(7 * PLANTS + 1)),
  ];
}

function heldAgainst(texts: readonly string[]): HeldAgainst {
  const known = new Set(texts);
  // One tag in a hundred is shorter, for its digits: to look for those too would take as long again.
  const [usual] = packBarCodes(texts, strangersTo(known, 5));
  if (usual === undefined) throw new Error('a ledger of tags');
  return { texts: known, group: usual };
}

function aroundSymbol(tag: WeatherTag): WeatherTag {
  const { face, facePxPerMm, symbolMm } = tag;
  const px = (mm: number): number => Math.round(mm * facePxPerMm);
  const [left, top] = [symbolMm.x, symbolMm.y].map((mm) => Math.max(0, px(mm - MARGIN_MM))) as [
    number,
    number,
  ];
  const right = Math.min(face.width, px(symbolMm.x + symbolMm.width + MARGIN_MM));
  const bottom = Math.min(face.height, px(symbolMm.y + symbolMm.height + MARGIN_MM));
  const [width, height] = [right - left, bottom - top];
  const data = new Uint8Array(width * height);
  for (let row = 0; row < height; row++) {
    const from = (top + row) * face.width + left;
    data.set(face.data.subarray(from, from + width), row * width);
  }
  const symbol = { ...symbolMm, x: symbolMm.x - left / facePxPerMm, y: symbolMm.y - top / facePxPerMm };
  return { ...tag, face: { data, width, height }, symbolMm: symbol };
}

/** Damage of one or two kinds, from half of what is asked of a reader to the most. */
function anyDamage(tag: WeatherTag, random: Random): Damage {
  const pxPerModule = random.between(LEAST_PX, MOST_PX);
  const damage = () => {
    const kind = pick(KINDS, random);
    const most = kind.levels.at(-1) as number;
    return { kind, level: random.between(most / 2, most) };
  };
  const { kind, level } = damage();
  const first = damageOf(kind, level, tag, random, pxPerModule);
  if (random.next() >= MIXED_SHARE) return first;
  const more = damage();
  return { ...first, ...more.kind.at(more.level, pxPerModule, tag) };
}

function thingSeen({ draw }: Thing, random: Random): WeatherTag {
  const { face, facePxPerMm } = draw(random);
  const [width, height] = [face.width / facePxPerMm, face.height / facePxPerMm];
  return { text: '', face, facePxPerMm, moduleMm: 0.4, symbolMm: { x: 0, y: 0, width, height } };
}

/** How surely each ledger's tags are seen. They are looked for once, and what is seen is held against each. */
function read(
  picture: ColourPicture,
  against: readonly [HeldAgainst, ...HeldAgainst[]],
): Map<HeldAgainst, Map<string, number>> {
  const all = new Map(against.map((ledger) => [ledger, new Map<string, number>()]));
  readBarsByLedger(searchable(picture), [against[0].group], (_, evidence, look) => {
    let surest: Suspect[] = [];
    for (const [{ group }, of] of all) {
      const suspects = judgeBars(group, evidence, look);
      const [first] = suspects;
      if (first === undefined) continue;
      of.set(first.text, Math.max(of.get(first.text) ?? 0, first.probability));
      if (first.probability > (surest[0]?.probability ?? 0)) surest = suspects;
    }
    return surest;
  });
  return all;
}

async function main(sceneCount: number, seed: number): Promise<void> {
  const against = ledgers();
  const things = await barsOfNothing();
  const printed = (issue: number) =>
    Promise.all(STOCKS.map((stock) => printTags(stock, TAGS_EACH, [], 'code128', issue)));
  const tags = [...(await printed(1)), ...(await printed(2))].flat().map(aroundSymbol);
  const random = seededRandom(seed);
  const tallies = { tags: new Tally(), nothing: new Tally() };
  const counts = { own: 0, foreign: 0, nothing: 0, read: 0, offered: 0 };
  for (let scene = 0; scene < sceneCount; scene++) {
    const isTag = scene % 2 === 0;
    const thing = things[(scene >> 1) % things.length] as Thing;
    const seen = isTag ? pick(tags, random) : thingSeen(thing, random);
    const photo = photograph(
      lone(seen.face, seen.facePxPerMm),
      anyDamage(seen, random),
      random.below(2 ** 31),
    );
    for (const [{ texts }, surest] of read(photo, against)) {
      const isOwn = texts.has(seen.text);
      // The second tag of another garden's plant of that ID: nobody can tell it from a tag of ours.
      if (!isOwn && isTag && texts.has(seen.text.replace('.2', '.1'))) continue;
      counts[isTag ? (isOwn ? 'own' : 'foreign') : 'nothing']++;
      for (const [text, probability] of surest) {
        const isRight = isOwn && text === seen.text;
        tallies[isTag ? 'tags' : 'nothing'].add(probability, isRight ? 'right' : isOwn ? 'wrong' : 'foreign');
        counts.read += Number(isRight && probability >= READ_AT);
        counts.offered += Number(isRight && probability >= OFFERED_AT);
        if (isRight || probability < OFFERED_AT) continue;
        console.log(`${isTag ? seen.text : thing.name} taken for ${text}: ${probability}`);
      }
    }
  }
  console.log(`${sceneCount} scenes, seed ${seed}`);
  console.log(
    `tags: held against their own ledger ${counts.own}: read ${counts.read}, read or offered ${counts.offered}; against another one ${counts.foreign}`,
  );
  for (const line of tallies.tags.lines()) console.log(line);
  console.log(`other things, held against a ledger ${counts.nothing}`);
  for (const line of tallies.nothing.lines()) console.log(line);
}

const [, , count = '200', seed = String(Date.now() % 2 ** 31)] = process.argv;
await main(Number(count), Number(seed));
