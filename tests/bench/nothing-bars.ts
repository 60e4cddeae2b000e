/** Things of bars and stripes that hold no tag of the ledger, some of them as like one as can be. */
import bwipjs from 'bwip-js/node';
import { code128Bars } from '../../src/codes/code128.js';
import { capacity, idOfNumber } from '../../src/ids/allocation.js';
import type { Random } from '../support/random.js';
import { type Face, image, pattern, pick, type Thing } from './nothing-faces.js';
import { PLANTS, printTags, STOCKS, type WeatherTag } from './weather-tags.js';

const TAGS_EACH = 8;
/** Beyond all IDs of the ledgers that these things are held against. */
const LAST_IDS = 4000;
const ID_CHARACTERS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const QUIET_MODULES = 12;

/** Kinds of things, each to be drawn as often as one likes. */
export async function barsOfNothing(): Promise<Thing[]> {
  const faces = (await Promise.all(STOCKS.map((stock) => printTags(stock, TAGS_EACH, foreignIds())))).flat();
  return [
    { name: 'tag text of another garden', draw: (random) => code128(`${foreignId(random)}.1`, random) },
    {
      name: 'text like a tag',
      draw: (random) => code128(`${letters(5, random)}.${1 + random.below(3)}`, random),
    },
    { name: 'other text as long', draw: (random) => code128(letters(7, random), random) },
    { name: 'other text', draw: (random) => code128(letters(4 + random.below(9), random), random) },
    { name: 'other linear symbol', draw: otherSymbol },
    { name: 'bars at random', draw: anyBars },
    { name: 'fence', draw: fence },
    { name: 'pattern', draw: pattern },
    { name: 'lines of text', draw: (random) => faceOf(pick(faces, random)) },
  ];
}

const foreignId = (random: Random): string => idOfNumber(capacity(5) - random.below(LAST_IDS), 5);

const foreignIds = (): string[] => {
  const step = 61;
  return Array.from({ length: TAGS_EACH }, (_, index) => idBeyond(index * step));
};

const idBeyond = (further: number): string => idOfNumber(PLANTS + 1 + further, 5);

const faceOf = ({ face, facePxPerMm }: WeatherTag): Face => ({ face, facePxPerMm });

const letters = (count: number, random: Random): string =>
  Array.from({ length: count }, () => ID_CHARACTERS.charAt(random.below(ID_CHARACTERS.length))).join('');

const code128 = (text: string, random: Random): Face => drawnBars(code128Bars(text).widths, random);

/** Symbologies of ISO/IEC 15420, 16388, 16390 and others, with what they may hold. */
const SYMBOLS: readonly (readonly [symbology: string, text: (random: Random) => string])[] = [
  ['ean13', (random) => digits(12, random)],
  ['ean8', (random) => digits(7, random)],
  ['interleaved2of5', (random) => digits(8, random)],
  ['code39', (random) => letters(5, random)],
  ['code93', (random) => letters(7, random)],
  ['rationalizedCodabar', (random) => `A${digits(8, random)}B`],
];

const digits = (count: number, random: Random): string =>
  Array.from({ length: count }, () => random.below(10)).join('');

function otherSymbol(random: Random): Face {
  const [symbology, text] = pick(SYMBOLS, random);
  const [symbol] = bwipjs.raw(symbology, text(random), {});
  return drawnBars((symbol as unknown as { sbs: number[] }).sbs, random);
}

/** As many modules as a tag's, each dark or light by lot, or bars of the widths of a Code 128 in no order. */
function anyBars(random: Random): Face {
  const isByLot = random.next() < 0.5;
  const widths = isByLot
    ? runsOf(Array.from({ length: 112 }, () => random.next() < 0.5))
    : Array.from({ length: 55 }, () => 1 + Math.floor(3.5 * random.next() ** 2));
  return drawnBars(widths, random);
}

function runsOf(modules: readonly boolean[]): number[] {
  const widths: number[] = [];
  modules.forEach((isDark, index) => {
    if (index > 0 && isDark === modules[index - 1]) widths.push((widths.pop() as number) + 1);
    else widths.push(1);
  });
  return widths;
}

/** Bars of several millimetres' height, now and then as long as high. */
function drawnBars(widths: readonly number[], random: Random): Face {
  const px = 3 + random.below(3);
  const isDark = widths.flatMap((width, index) => Array<boolean>(Math.round(width)).fill(index % 2 === 0));
  const height = px * (14 + random.below(50));
  const margin = QUIET_MODULES * px;
  return image(isDark.length * px + 2 * margin, height + 2 * margin, (x, y) =>
    isDark[Math.floor((x - margin) / px)] === true && y >= margin && y < height + margin ? 0 : 255,
  );
}

/** Slats much alike, on two rails, in front of something lighter or darker. */
function fence(random: Random): Face {
  const [step, share, odd] = [5 + random.below(20), random.between(0.3, 0.7), random.between(0, 0.4)];
  const [slat, behind] = random.next() < 0.5 ? [40, 220] : [210, 60];
  const side = 300 + random.below(200);
  const height = 120 + random.below(120);
  const widths: number[] = [];
  for (let x = 0; x < side; x += step) widths.push(step * share * (1 + odd * (random.next() - 0.5)));
  return image(side, height, (x, y) => {
    const isRail = Math.abs(y - height / 4) < 5 || Math.abs(y - (3 * height) / 4) < 5;
    return isRail || x % step < (widths[Math.floor(x / step)] as number) ? slat : behind;
  });
}
