/**
 * Whether the probabilities of the reader by the ledger can be believed, over many cheap trials: printed
 * tags from the rasterised PDF, seen at a slant under mud, glare, shade, blur and noise, with a pose that
 * is off as fitted ones are. Every scene is held against ledgers that hold its tag and ledgers that do not: as
 * those share what is seen, the last line counts scenes, from which a bound can be stated.
 * `npm run bench:calibration -- [trials] [seed]`
 */
import { probeOf, Sampler } from '../../src/scan/reading/agreement.js';
import { evidenceOf } from '../../src/scan/reading/evidence.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { colourPlanes, smoothed } from '../../src/scan/reading/plane.js';
import { flatPose, type GridPoints, type Pose, placePoints } from '../../src/scan/reading/pose.js';
import { judge } from '../../src/scan/reading/posterior.js';
import { OFFERED_AT, READ_AT } from '../../src/scan/reading/read.js';
import { packTagCodes, type TagCodes } from '../../src/scan/reading/tag-codes.js';
import { makeNoise, type Noise } from '../support/camera-surface.js';
import { type Random, seededRandom } from '../support/random.js';
import { type Outcome, Tally } from './calibration-tally.js';
import { ledgerTexts, PLANTS, printTags, STOCKS, type WeatherTag } from './weather-tags.js';

const TAGS_EACH = 60;
/** Standard deviation of a fitted corner, in modules: measured on found tags of the weather bench. */
const CORNER_ERROR = 0.12;
/** Modules around the frame that are drawn too. */
const MARGIN = 2;
const GRID = 31;

interface Scene {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
  readonly truth: Pose;
}

/** The block of a tag, seen at a slant, with up to three quarters of it damaged. */
function compose(tag: WeatherTag, noise: Noise, random: Random): Scene {
  const pxPerModule = random.between(2, 4.5);
  const side = (GRID + 2 * MARGIN) * pxPerModule;
  const slant = 0.12 * side;
  const at = (x: number, y: number) => ({
    x: slant + x * side + random.between(-slant, slant),
    y: slant + y * side + random.between(-slant, slant),
  });
  const outer = flatPose([at(0, 0), at(1, 0), at(1, 1), at(0, 1)]);
  const size = Math.ceil(side + 2 * slant);
  const truth = innerPose(outer);
  const rgb = new Float32Array(size * size * 3).fill(110);
  paint(rgb, size, outer, tag, pxPerModule, noise, random);
  const blur = random.between(0.2, 0.55) * pxPerModule;
  const spread = random.between(0.5, 8);
  const channels = [0, 1, 2].map((channel) =>
    smoothed(
      {
        data: Float32Array.from({ length: size * size }, (_, pixel) => rgb[3 * pixel + channel] as number),
        width: size,
        height: size,
      },
      Math.max(0.4, blur),
    ),
  );
  const data = new Uint8ClampedArray(size * size * 3);
  for (let pixel = 0; pixel < size * size; pixel++) {
    const common = spread * random.normal();
    for (let channel = 0; channel < 3; channel++) {
      data[3 * pixel + channel] =
        ((channels[channel] as { data: Float32Array }).data[pixel] as number) + common;
    }
  }
  return { data: new Uint8Array(data.buffer), width: size, height: size, truth };
}

/** The frame's corners, of the pose of what is drawn around it too. */
function innerPose(outer: Pose): Pose {
  const reach = GRID / (GRID + 2 * MARGIN);
  const points: GridPoints = {
    u: Float64Array.of(-reach, reach, reach, -reach),
    v: Float64Array.of(-reach, -reach, reach, reach),
  };
  const [xs, ys] = [new Float64Array(4), new Float64Array(4)];
  placePoints(outer, points, xs, ys);
  const at = (corner: number) => ({ x: xs[corner] as number, y: ys[corner] as number });
  return flatPose([at(0), at(1), at(2), at(3)]);
}

/** Draws the tag's block, somewhat more than a look a pixel along a side of the block, under its damage. */
function paint(
  rgb: Float32Array,
  size: number,
  outer: Pose,
  tag: WeatherTag,
  pxPerModule: number,
  noise: Noise,
  random: Random,
): void {
  const along = Math.ceil((GRID + 2 * MARGIN) * pxPerModule * 1.35);
  const u = Float64Array.from({ length: along }, (_, step) => (2 * (step + 0.5)) / along - 1);
  const [xs, ys] = [new Float64Array(along), new Float64Array(along)];
  const counts = new Float32Array(size * size);
  const modules = GRID + 2 * MARGIN;
  const first = {
    x: tag.symbolMm.x - (5 + MARGIN) * tag.moduleMm,
    y: tag.symbolMm.y - (5 + MARGIN) * tag.moduleMm,
  };
  const cover = coverOf(noise, random);
  const light = { base: random.between(0.4, 1), slope: random.between(0, 0.5), turn: random.between(0, 6.3) };
  const inkLeft = random.between(0.25, 1);
  for (let step = 0; step < along; step++) {
    placePoints(outer, { u, v: new Float64Array(along).fill(u[step] as number) }, xs, ys);
    for (let across = 0; across < along; across++) {
      const [mu, mv] = [((across + 0.5) / along) * modules, ((step + 0.5) / along) * modules];
      const level = faceLevel(tag, first.x + mu * tag.moduleMm, first.y + mv * tag.moduleMm);
      const paper = 1 - (1 - level / 255) * inkLeft;
      const shade =
        light.base *
        (1 -
          light.slope * (0.5 + (Math.cos(light.turn) * (mu - 17) + Math.sin(light.turn) * (mv - 17)) / 50));
      const at = Math.round(ys[across] as number) * size + Math.round(xs[across] as number);
      if (at < 0 || at >= size * size) continue;
      if ((counts[at] as number) === 0) rgb.fill(0, 3 * at, 3 * at + 3);
      counts[at] = (counts[at] as number) + 1;
      for (let channel = 0; channel < 3; channel++) {
        const bare = 26 + ([214, 212, 204][channel] as number) * paper;
        rgb[3 * at + channel] = (rgb[3 * at + channel] as number) + shade * cover(mu, mv, channel, bare);
      }
    }
  }
  for (let at = 0; at < size * size; at++) {
    const count = counts[at] as number;
    if (count === 0) continue;
    for (let channel = 0; channel < 3; channel++) {
      rgb[3 * at + channel] = (rgb[3 * at + channel] as number) / count;
    }
  }
}

type Cover = (mu: number, mv: number, channel: number, bare: number) => number;

/** Blobs of mud of any colour, from black to nearly white, and glare, over up to some three quarters. */
function coverOf(noise: Noise, random: Random): Cover {
  const isGlare = random.next() < 0.25;
  const tone = random.between(0.15, 1);
  const mud = random.next() < 0.3 ? [180, 180, 180] : [150, 110, 74];
  const [ox, oy] = [random.between(0, 99), random.between(0, 99)];
  const scale = random.between(0.03, 0.14);
  const level = random.between(0.35, 0.75);
  return (mu, mv, channel, bare) => {
    const height = noise(ox + mu * scale, oy + mv * scale) - level;
    if (isGlare) return bare + 1000 * Math.max(0, height) ** 1.5 * 8;
    const opacity = Math.min(1, Math.max(0, height / 0.02 + 0.5));
    if (opacity === 0) return bare;
    const grain = 0.75 + 0.5 * noise(mu * 0.7, mv * 0.7);
    return bare + opacity * ((mud[channel] as number) * tone * grain - bare);
  };
}

function faceLevel({ face, facePxPerMm }: WeatherTag, xMm: number, yMm: number): number {
  const [x, y] = [Math.round(xMm * facePxPerMm - 0.5), Math.round(yMm * facePxPerMm - 0.5)];
  if (x < 0 || y < 0 || x >= face.width || y >= face.height) return 255;
  return face.data[y * face.width + x] as number;
}

/** Of the first plants of ledgers that none of the tags is of. */
const FAR_NUMBERS = [9001, 20_001] as const;

function packed(texts: readonly string[]): TagCodes {
  return packTagCodes(texts, strangersTo(new Set(texts), 5));
}

async function main(trialCount: number, seed: number): Promise<void> {
  const tags = (await Promise.all(STOCKS.map((stock) => printTags(stock, TAGS_EACH)))).flat();
  // Ledgers that hold all of these tags beside others, and such that hold none of them.
  const drawn = tags.map(({ text }) => text);
  const others = [...new Set([...drawn, ...ledgerTexts(FAR_NUMBERS[0])])].slice(0, PLANTS);
  const ledgers = [
    { isOwn: true, codes: packed(ledgerTexts()) },
    { isOwn: true, codes: packed(others) },
    ...FAR_NUMBERS.map((first) => ({ isOwn: false, codes: packed(ledgerTexts(first)) })),
  ] as const;
  const { known } = ledgers[0].codes;
  for (const { codes } of ledgers) {
    if (codes.known.some((colour, cell) => colour !== known[cell])) throw new Error('one evidence for all');
  }
  const sampler = new Sampler(probeOf(known, 2, 0.5));
  const random = seededRandom(seed);
  const noises = Array.from({ length: 12 }, () => makeNoise(random));
  const tally = new Tally();
  const rights = { any: 0, read: 0, offered: 0 };
  const scenes = { all: 0, ownSure: 0, ownWrong: 0, foreignSure: 0 };
  // Each scene is a trial for each ledger.
  for (let trial = 0; trial < trialCount; trial += ledgers.length) {
    const tag = tags[random.below(tags.length)] as WeatherTag;
    const scene = compose(tag, noises[random.below(noises.length)] as Noise, random);
    const planes = colourPlanes(scene);
    const pxPerModule =
      Math.hypot(
        (scene.truth[0] as number) - (scene.truth[2] as number),
        (scene.truth[1] as number) - (scene.truth[3] as number),
      ) / GRID;
    const pose = scene.truth.map((value, index) =>
      index < 8 ? value + CORNER_ERROR * pxPerModule * random.normal() : value,
    );
    const { score } = sampler.fit(smoothed(planes.gray, 0.7), pose);
    const evidence = evidenceOf(planes, pose, known);
    const sure: Outcome[] = [];
    for (const { isOwn, codes } of ledgers) {
      const [first] = judge(codes, evidence, score, null).suspects;
      if (first === undefined) continue;
      const isRight = isOwn && first.text === tag.text;
      rights.any += Number(isOwn);
      rights.read += Number(isRight && first.probability >= READ_AT);
      rights.offered += Number(isRight && first.probability >= OFFERED_AT);
      const outcome = isRight ? 'right' : isOwn ? 'wrong' : 'foreign';
      tally.add(first.probability, outcome);
      if (first.probability >= READ_AT) sure.push(outcome);
    }
    scenes.all++;
    scenes.ownSure += Number(sure.includes('right') || sure.includes('wrong'));
    scenes.ownWrong += Number(sure.includes('wrong'));
    scenes.foreignSure += Number(sure.includes('foreign'));
  }
  console.log(
    `${trialCount} trials, seed ${seed}; own tags ${rights.any}: read ${rights.read}, offered too ${rights.offered}`,
  );
  for (const line of tally.lines()) console.log(line);
  console.log(
    `scenes ${scenes.all}; said at ${READ_AT} or more by a ledger that holds the tag in ${scenes.ownSure}, wrong in ${scenes.ownWrong}; by one that does not in ${scenes.foreignSure}`,
  );
}

const [, , count = '2000', seed = String(Date.now() % 2 ** 31)] = process.argv;
await main(Number(count), Number(seed));
