/** Things that hold no tag of the ledger, some of them as like one as can be: faces for the camera to see. */
import { code128Bars } from '../../src/codes/code128.js';
import { type BitMatrix, type QrLevel, qrModules } from '../../src/codes/qr.js';
import { composeTagQr } from '../../src/codes/tag-qr.js';
import { capacity, idOfNumber } from '../../src/ids/allocation.js';
import { makeNoise } from '../support/camera-surface.js';
import type { Random } from '../support/random.js';
import type { GrayImage } from '../support/rasterise.js';
import { PLANTS, printTags, STOCKS, type WeatherTag } from './weather-tags.js';

export interface Face {
  readonly face: GrayImage;
  readonly facePxPerMm: number;
}

export interface Thing {
  readonly name: string;
  readonly draw: (random: Random) => Face;
}

const TAGS_EACH = 60;
const PX_PER_MM = 10;

/** Kinds of things, each to be drawn as often as one likes. */
export async function nothingOfOurs(): Promise<Thing[]> {
  const foreign = await foreignTags();
  return [
    { name: 'tag of another garden', draw: (random) => pick(foreign, random) },
    { name: 'such a tag, frame and modules', draw: (random) => framed(foreignQr(random), random) },
    { name: 'frame with modules at random', draw: (random) => framed(scrambled(random), random) },
    { name: 'QR code', draw: otherCode },
    { name: 'QR code in a frame', draw: (random) => framed(otherQr(random), random) },
    { name: 'Code 128', draw: bars },
    { name: 'pattern', draw: pattern },
    { name: 'surface', draw: surface },
  ];
}

/** IDs that such a ledger may give to a plant beyond ours, spread over all there are. */
function foreignId(random: Random): string {
  return idOfNumber(PLANTS + 1 + random.below(capacity(5) - PLANTS), 5);
}

async function foreignTags(): Promise<WeatherTag[]> {
  const step = Math.floor((capacity(5) - PLANTS) / (TAGS_EACH * STOCKS.length));
  const tags = await Promise.all(
    STOCKS.map((stock, at) => {
      const ids = Array.from({ length: TAGS_EACH }, (_, index) =>
        idOfNumber(PLANTS + 1 + (index * STOCKS.length + at) * step, 5),
      );
      return printTags(stock, TAGS_EACH, ids);
    }),
  );
  return tags.flat();
}

export function pick<T>(things: readonly T[], random: Random): T {
  return things[random.below(things.length)] as T;
}

type IsDark = (row: number, column: number) => boolean;

interface Modules {
  readonly size: number;
  readonly dark: IsDark;
}

function foreignQr(random: Random): BitMatrix {
  return composeTagQr(`${foreignId(random)}.${1 + random.below(3)}`);
}

/** What is alike on all tags, and chance where they differ. */
function scrambled(random: Random): Modules {
  const [one, other] = [foreignQr(random), foreignQr(random)];
  const more = Array.from({ length: 8 }, () => foreignQr(random));
  const chance = Array.from({ length: one.size ** 2 }, () => random.next() < 0.5);
  const isAlike: IsDark = (row, column) =>
    [other, ...more].every((each) => each.dark(row, column) === one.dark(row, column));
  return {
    size: one.size,
    dark: (row, column) =>
      isAlike(row, column) ? one.dark(row, column) : (chance[row * one.size + column] as boolean),
  };
}

const WORDS = ['https://garden.example/', 'WIFI:T:WPA;S:shed;P:', 'BEGIN:VCARD FN:', 'LOT ', '', 'PLANT '];

function otherQr(random: Random): BitMatrix {
  const letters = Array.from({ length: 1 + random.below(24) }, () =>
    '0123456789ABCDEFGHJKMNPQRSTVWXYZabcdefg-./'.charAt(random.below(43)),
  );
  return qrModules(pick(WORDS, random) + letters.join(''), pick<QrLevel>(['L', 'M', 'Q', 'H'], random));
}

/** A symbol within the quiet zone and frame of a tag's. */
function framed(symbol: Modules, random: Random): Face {
  const whole = symbol.size + 10;
  return drawn(whole + 4, random, (row, column) => {
    const [y, x] = [row - 2, column - 2];
    if (y < 0 || x < 0 || y >= whole || x >= whole) return false;
    if (y === 0 || x === 0 || y === whole - 1 || x === whole - 1) return true;
    return symbol.dark(y - 5, x - 5);
  });
}

/** A QR code of no garden in its quiet zone. */
export function otherCode(random: Random): Face {
  const symbol = otherQr(random);
  return drawn(symbol.size + 8, random, (row, column) => symbol.dark(row - 4, column - 4));
}

/** Modules of half a millimetre or more, on a white label. */
function drawn(size: number, random: Random, dark: IsDark): Face {
  const px = 5 + random.below(4);
  const side = size * px;
  return image(side, side, (x, y) => (dark(Math.floor(y / px), Math.floor(x / px)) ? 0 : 255));
}

export function image(width: number, height: number, level: (x: number, y: number) => number): Face {
  const data = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) data[y * width + x] = level(x, y);
  }
  return { face: { data, width, height }, facePxPerMm: PX_PER_MM };
}

function bars(random: Random): Face {
  const text = `${pick(['LOT ', '', 'A-', '4006'], random)}${foreignId(random)}${pick(['', '.1', '-7'], random)}`;
  const { widths, modules } = code128Bars(text);
  const px = 2 + random.below(2);
  const isBar: boolean[] = [];
  widths.forEach((width, index) => {
    for (let module = 0; module < width; module++) isBar.push(index % 2 === 0);
  });
  const height = 90 + random.below(80);
  const margin = 12 * px;
  return image(modules * px + 2 * margin, height + 2 * margin, (x, y) =>
    isBar[Math.floor((x - margin) / px)] === true && y >= margin && y < height + margin ? 0 : 255,
  );
}

/** Regular things: boards, tiles, gratings, fences, rings, boxes within boxes, dots. */
export function pattern(random: Random): Face {
  const [step, line] = [6 + random.below(30), 2 + random.below(6)];
  const side = 240 + random.below(160);
  const kinds: ((x: number, y: number) => boolean)[] = [
    (x, y) => (Math.floor(x / step) + Math.floor(y / step)) % 2 === 0,
    (x, y) => x % step < line || y % step < line,
    (x, y) => (x + (Math.floor(y / step) % 2) * (step >> 1)) % step < line || y % step < line,
    (x) => x % step < step / 2,
    (x, y) => Math.hypot(x - side / 2, y - side / 2) % step < step / 2,
    (x, y) => Math.max(Math.abs(x - side / 2), Math.abs(y - side / 2)) % step < line,
    (x, y) => Math.hypot((x % step) - step / 2, (y % step) - step / 2) < step / 3,
  ];
  const isDark = pick(kinds, random);
  return image(side, side, (x, y) => (isDark(x, y) ? 20 : 235));
}

/** Soil, gravel, bark: noise of several sizes, with hard edges or none. */
function surface(random: Random): Face {
  const noise = makeNoise(random);
  const [coarse, fine] = [random.between(0.01, 0.08), random.between(0.1, 0.5)];
  const [gain, weight] = [random.between(1, 12), random.next()];
  const side = 240 + random.below(160);
  return image(side, side, (x, y) => {
    const height = weight * noise(x * coarse, y * coarse) + (1 - weight) * noise(x * fine, y * fine);
    return Math.max(0, Math.min(255, 128 + 128 * gain * (height - 0.5)));
  });
}
