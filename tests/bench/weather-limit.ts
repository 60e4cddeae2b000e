/**
 * Where reading by the ledger ends: how many modules tell a tag from all others of a ledger, and what is
 * lost in squaring up, against the same reader told where the tag lies.
 * `npm run bench:limit -- [photos a level] [seed]`
 */

import { TAG_QR_SIZE } from '../../src/codes/qr-block.js';
import { tagQrWords } from '../../src/codes/tag-qr.js';
import { idOfNumber } from '../../src/ids/allocation.js';
import type { IdLength } from '../../src/ids/plant-id.js';
import { probeOf, Sampler } from '../../src/scan/reading/agreement.js';
import { smoothed } from '../../src/scan/reading/plane.js';
import { flatPose, type Pose, scaledPose } from '../../src/scan/reading/pose.js';
import { judge, type Suspect } from '../../src/scan/reading/posterior.js';
import {
  type LedgerReading,
  OFFERED_AT,
  READ_AT,
  readByLedger,
  readFinds,
} from '../../src/scan/reading/read.js';
import { searchable } from '../../src/scan/reading/searchable.js';
import type { TagCodes } from '../../src/scan/reading/tag-codes.js';
import { GRID } from '../../src/scan/reading/tag-grid.js';
import { lone, type Photo, photograph } from '../support/camera.js';
import { seededRandom } from '../support/random.js';
import { weatherCodes, weatherTags } from './weather.js';
import { damageOf, KINDS } from './weather-damage.js';
import type { WeatherTag } from './weather-tags.js';

const MODULES = TAG_QR_SIZE * TAG_QR_SIZE;
/** Ledgers as large as asked for, and of how many of their tags all distances are counted. */
const LEDGERS: readonly (readonly [plants: number, idLength: IdLength, sample: number])[] = [
  [3000, 5, 1000],
  [32_767, 5, 400],
  [1_000_000, 6, 60],
];
const ERROR_SHARE = 1e-4;
const MUD_LEVELS = [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8];

/** How many tags of a ledger differ from one of it in so many modules: the mean over a sample of tags. */
export function distancesIn(plants: number, idLength: IdLength, sample: number): Float64Array {
  const words = Math.ceil(MODULES / 32);
  const all = new Uint32Array(plants * words);
  for (let index = 0; index < plants; index++) {
    all.set(tagQrWords(`${idOfNumber(index + 1, idLength)}.1`), index * words);
  }
  const counts = new Float64Array(MODULES + 1);
  for (let one = 0; one < sample; one++) {
    const start = Math.floor(((one + 0.5) / sample) * plants);
    const from = all.slice(start * words, (start + 1) * words);
    for (let other = 0; other < plants; other++) {
      if (other === start) continue;
      let distance = 0;
      for (let word = 0; word < words; word++) {
        distance += bitCount((all[other * words + word] as number) ^ (from[word] as number));
      }
      counts[distance] = (counts[distance] as number) + 1 / sample;
    }
  }
  return counts;
}

/** Hacker's Delight (Warren, 2nd edition, 2012), figure 5-2. */
function bitCount(word: number): number {
  let count = word - ((word >>> 1) & 0x55555555);
  count = (count & 0x33333333) + ((count >>> 2) & 0x33333333);
  count = (count + (count >>> 4)) & 0x0f0f0f0f;
  return Math.imul(count, 0x01010101) >>> 24;
}

/**
 * Fewest modules, drawn at random from the symbol's, by which the likeliest tag is the right one but for
 * `ERROR_SHARE`: the union bound over all other tags, a tie counted half.
 * @param wrongShare of the modules seen, how many are read as the other colour
 */
export function modulesNeeded(distances: Float64Array, wrongShare: number): number {
  for (let seen = 1; seen <= MODULES; seen++) {
    const confused = confusionBy(wrongShare, seen);
    let error = 0;
    distances.forEach((count, distance) => {
      if (count === 0) return;
      const least = Math.max(0, seen + distance - MODULES);
      for (let met = least; met <= Math.min(seen, distance); met++) {
        const chance = Math.exp(
          logChoose(distance, met) + logChoose(MODULES - distance, seen - met) - logChoose(MODULES, seen),
        );
        error += count * chance * (confused[met] as number);
      }
    });
    if (error <= ERROR_SHARE) return seen;
  }
  return MODULES;
}

/** Of so many modules seen in which two tags differ: how likely at least half of them speak for the wrong one. */
function confusionBy(wrongShare: number, most: number): Float64Array {
  return Float64Array.from({ length: most + 1 }, (_, differing) => {
    let sum = 0;
    for (let wrong = Math.ceil(differing / 2); wrong <= differing; wrong++) {
      const chance =
        Math.exp(logChoose(differing, wrong)) * wrongShare ** wrong * (1 - wrongShare) ** (differing - wrong);
      sum += 2 * wrong === differing ? chance / 2 : chance;
    }
    return sum;
  });
}

const LOG_FACTORIALS = new Float64Array(MODULES + 1);
for (let n = 1; n <= MODULES; n++) LOG_FACTORIALS[n] = (LOG_FACTORIALS[n - 1] as number) + Math.log(n);
const logChoose = (n: number, k: number): number =>
  (LOG_FACTORIALS[n] as number) - (LOG_FACTORIALS[k] as number) - (LOG_FACTORIALS[n - k] as number);

/** The frame's corners as the camera sees them; the tag lies on a flat bench. */
function truePose({ symbolMm: { x, y, width }, moduleMm }: WeatherTag, { pixelOf }: Photo): Pose {
  const margin = ((GRID - TAG_QR_SIZE) / 2) * moduleMm;
  const [left, top, right, bottom] = [x - margin, y - margin, x + width + margin, y + width + margin];
  // Pixels are counted from their middles in a pose, and from the picture's edge by the camera.
  const at = (xMm: number, yMm: number) => {
    const seen = pixelOf(xMm, yMm);
    return { x: seen.x - 0.5, y: seen.y - 0.5 };
  };
  return flatPose([at(left, top), at(right, top), at(right, bottom), at(left, bottom)]);
}

const BLURS = [0.25, 0.5, 0.9];

/** What the reader says that need not find the tag. */
function readAt(photo: Photo, pose: Pose, codes: TagCodes): LedgerReading | undefined {
  const own = searchable(photo);
  const here = scaledPose(pose, 2 ** -own.halvings);
  const soft = smoothed(own.planes.gray, 0.7);
  const scores = BLURS.map((blur) => new Sampler(probeOf(codes.known, 2, blur)).fit(soft, here).score);
  const fit = () => ({ pose: here, score: Math.max(...scores) });
  return readFinds({ ...own, finds: [{ pose: here, fit }] }, codes)[0];
}

/** Mean distance of the frame's corners, in modules. */
function cornerError(found: Pose, truth: Pose, pxPerModule: number): number {
  let sum = 0;
  for (let corner = 0; corner < 8; corner += 2) {
    sum += Math.hypot(
      (found[corner] as number) - (truth[corner] as number),
      (found[corner + 1] as number) - (truth[corner + 1] as number),
    );
  }
  return sum / 4 / pxPerModule;
}

const READERS = ['found', 'told', 'found, by symbol alone', 'told, by symbol alone'] as const;

interface Tally {
  read: number;
  offered: number;
  wrong: number;
}

function enter(tally: Tally, suspects: readonly Suspect[], text: string): void {
  const [first] = suspects;
  if (first === undefined) return;
  const isRight = first.text === text;
  tally.read += Number(isRight && first.probability >= READ_AT);
  tally.offered += Number(isRight && first.probability >= OFFERED_AT);
  tally.wrong += Number(!isRight && first.probability >= READ_AT);
}

/** The same place without the printed ID, which is no part of the bound. */
function bySymbol(reading: LedgerReading | undefined, codes: TagCodes): readonly Suspect[] {
  return reading === undefined ? [] : judge(codes, reading.evidence, reading.agreement, null).suspects;
}

export interface LimitResult {
  /** Of the reader that finds the tag, and of the one that is told where it lies; `offered` counts those read too. */
  readonly tallies: Readonly<Record<(typeof READERS)[number], Tally>>;
  /** How far off the corners of the best pose are, in modules, for each photo in which it is less than one. */
  readonly errors: readonly number[];
}

/** Photos of tags of all stocks by turns, with so much of their symbols under mud. */
export async function runMud(
  level: number,
  photoCount: number,
  seed: number,
  tags: readonly (readonly WeatherTag[])[],
  codes: TagCodes,
): Promise<LimitResult> {
  const mud = KINDS.find(({ name }) => name === 'mud');
  if (mud === undefined) throw new Error('no mud');
  const random = seededRandom(seed);
  const none = (): Tally => ({ read: 0, offered: 0, wrong: 0 });
  const tallies = {
    found: none(),
    told: none(),
    'found, by symbol alone': none(),
    'told, by symbol alone': none(),
  };
  const errors: number[] = [];
  for (let photo = 0; photo < photoCount; photo++) {
    const ofStock = tags[photo % tags.length] as readonly WeatherTag[];
    const tag = ofStock[random.below(ofStock.length)] as WeatherTag;
    const damage = damageOf(mud, level, tag, random);
    const picture = photograph(lone(tag.face, tag.facePxPerMm), damage, random.below(2 ** 31));
    const truth = truePose(tag, picture);
    const readings = readByLedger(searchable(picture), codes);
    const told = readAt(picture, truth, codes);
    enter(tallies.found, readings[0]?.suspects ?? [], tag.text);
    enter(tallies.told, told?.suspects ?? [], tag.text);
    enter(tallies['found, by symbol alone'], bySymbol(readings[0], codes), tag.text);
    enter(tallies['told, by symbol alone'], bySymbol(told, codes), tag.text);
    const pxPerModule = damage.pxPerMm * tag.moduleMm;
    errors.push(Math.min(...readings.map(({ pose }) => cornerError(pose, truth, pxPerModule))));
  }
  return { tallies, errors: errors.filter((error) => error < 1).sort((a, b) => a - b) };
}

function printBounds(): void {
  console.log(['plants', 'mean distance', 'least seen', 'modules', 'one in twenty wrong'].join('\t'));
  for (const [plants, idLength, sample] of LEDGERS) {
    const distances = distancesIn(plants, idLength, sample);
    const mean = distances.reduce((sum, count, distance) => sum + count * distance, 0) / (plants - 1);
    const least = distances.findIndex((count) => count > 0);
    const needed = [0, 0.05].map((wrongShare) => modulesNeeded(distances, wrongShare));
    console.log([plants, mean.toFixed(1), least, ...needed].join('\t'));
  }
}

async function main(photoCount: number, seed: number): Promise<void> {
  printBounds();
  const [tags, codes] = [await weatherTags(), weatherCodes()];
  console.log(
    ['mud', ...READERS.flatMap((name) => [`${name}: read`, 'offered', 'wrong']), ...SQUARED].join('\t'),
  );
  for (const [at, level] of MUD_LEVELS.entries()) {
    const { tallies, errors } = await runMud(level, photoCount, seed + at * 7919, tags, codes);
    const counts = READERS.flatMap((name) => [
      tallies[name].read,
      tallies[name].offered,
      tallies[name].wrong,
    ]);
    const median = (errors[errors.length >> 1] ?? Number.NaN).toFixed(2);
    console.log([level, ...counts, errors.length, median].join('\t'));
  }
}

const SQUARED = ['squared up', 'corners off by, modules (median)'];

if (process.argv[1]?.endsWith('weather-limit.ts')) {
  const [, , count = '20', seed = String(Date.now() % 2 ** 31)] = process.argv;
  console.log(`${count} photos a level, seed ${seed}`);
  await main(Number(count), Number(seed));
}
