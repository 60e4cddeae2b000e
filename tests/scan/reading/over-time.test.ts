/** The same tag in several pictures: what changes between them is averaged away, what stays is no new witness. */

import { beforeAll, expect, it } from 'vitest';
import type { ColourPicture } from '../../../src/scan/picture.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { readOverTime } from '../../../src/scan/reading/over-time.js';
import { OFFERED_AT, READ_AT, readByLedger } from '../../../src/scan/reading/read.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { packTagCodes, type TagCodes } from '../../../src/scan/reading/tag-codes.js';
import { ledgerTexts, printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { type Damage, lone, NO_DAMAGE, photograph } from '../../support/camera.js';
import { inGray } from '../../support/gray.js';
import { seededRandom } from '../../support/random.js';

let codes: TagCodes;
let tags: WeatherTag[];

beforeAll(async () => {
  codes = packTagCodes(ledgerTexts(), strangersTo(new Set(ledgerTexts()), 5));
  tags = await printTags('a4-65-38x21', 4);
});

function pictureOf(
  tag: WeatherTag,
  damage: Partial<Damage>,
  seed: number,
): ColourPicture & { readonly middle: { x: number; y: number } } {
  const view = {
    ...NO_DAMAGE,
    pxPerMm: 3.5 / tag.moduleMm,
    tiltDeg: 10,
    dirtBox: tag.symbolMm,
    noise: 0.005,
  };
  const photo = photograph(lone(tag.face, tag.facePxPerMm), { ...view, ...damage }, seed);
  const { x, y, width } = tag.symbolMm;
  return { ...photo, middle: photo.pixelOf(x + width / 2, y + width / 2) };
}

/** Its symbol and frame alone: all that is printed beside them is worn off. */
function withoutText(tag: WeatherTag): WeatherTag {
  const { face, facePxPerMm, symbolMm, moduleMm } = tag;
  const [left, right, top, bottom] = [
    symbolMm.x - 5 * moduleMm,
    symbolMm.x + symbolMm.width + 5 * moduleMm,
    symbolMm.y - 5 * moduleMm,
    symbolMm.y + symbolMm.height + 5 * moduleMm,
  ].map((mm) => Math.round(mm * facePxPerMm)) as [number, number, number, number];
  const data = face.data.map((level, at) => {
    const [x, y] = [at % face.width, Math.floor(at / face.width)];
    return x >= left && x < right && y >= top && y < bottom ? level : 255;
  });
  return { ...tag, face: { ...face, data } };
}

/** Another picture of the same: the hand moved a little, and the sensor's noise is another one. */
function again({ data, width, height }: ColourPicture, sigma: number, seed: number): ColourPicture {
  const random = seededRandom(seed);
  const [dx, dy] = [random.below(7), random.below(7)];
  const moved = new Uint8Array(data.length);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const from = (Math.max(0, y - dy) * width + Math.max(0, x - dx)) * 3;
      const noise = sigma * random.normal();
      for (let channel = 0; channel < 3; channel++) {
        const level = (data[from + channel] as number) + noise;
        moved[(y * width + x) * 3 + channel] = Math.max(0, Math.min(255, level));
      }
    }
  }
  return { data: moved, width, height };
}

/** With a white patch over one half or so of the symbol. */
function glaring(
  picture: ColourPicture,
  tag: WeatherTag,
  middle: { x: number; y: number },
  index: number,
): ColourPicture {
  const { data, width, height } = picture;
  const sidePx = (3.5 / tag.moduleMm) * tag.symbolMm.width;
  const turn = (Math.PI / 2) * index;
  const [x, y] = [middle.x + 0.45 * sidePx * Math.cos(turn), middle.y + 0.45 * sidePx * Math.sin(turn)];
  const shone = data.map((level, at) => {
    const pixel = Math.floor(at / 3);
    const far = Math.hypot((pixel % width) - x, Math.floor(pixel / width) - y) / (GLARE * sidePx);
    return Math.min(255, level + 255 * Math.min(1, Math.max(0, 1.6 * (1 - far))));
  });
  return { data: shone, width, height };
}

const GLARE = 0.62;

const first = (pictures: readonly ColourPicture[]) => readOverTime(pictures, codes)[0]?.suspects[0];
const alone = (picture: ColourPicture) => readByLedger(searchable(picture), codes)[0]?.suspects[0];

it('glare that wanders over a muddy tag leaves each picture in doubt, and not both together', () => {
  const tag = withoutText(tags[1] as WeatherTag);
  const base = pictureOf(tag, { mudShare: 0.3, rotationDeg: 47 }, 101);
  const pictures = [0, 1].map((index) => glaring(again(base, 6, index), tag, base.middle, index));
  const together = first(pictures);
  expect(together?.text).toBe(tag.text);
  const surest = Math.max(...pictures.map((picture) => alone(picture)?.probability ?? 0));
  expect(surest).toBeLessThan(READ_AT);
  expect(together?.probability).toBeGreaterThanOrEqual(READ_AT);
});

it('the same picture over and over is no surer than once', () => {
  for (const [index, mudShare] of [0.5, 0.6, 0.7].entries()) {
    const picture = pictureOf(tags[index] as WeatherTag, { mudShare, mudBlobs: 2 }, 20 + index);
    const [once, often] = [alone(picture), first([picture, picture, picture])];
    expect(often?.text).toBe(once?.text);
    expect(often?.probability).toBeLessThanOrEqual((once?.probability ?? 0) + 1e-6);
  }
});

it('two tags that change places before the camera are not taken for a third', () => {
  const [a, b] = tags as [WeatherTag, WeatherTag];
  const [one, other] = [a, b].map((tag) => pictureOf(tag, { mudShare: 0.5, mudBlobs: 2 }, 31)) as unknown as [
    ColourPicture,
    ColourPicture,
  ];
  const likeliest = readOverTime([one, other, one, other], codes).map(({ suspects }) => suspects[0]);
  const offered = likeliest.filter((suspect) => (suspect?.probability ?? 0) >= OFFERED_AT);
  expect(offered.length).toBeGreaterThan(0);
  for (const suspect of offered) expect([a.text, b.text]).toContain(suspect?.text);
});

it('pictures without a tag, and none at all, show none', () => {
  const gray = inGray({ data: new Uint8Array(300 * 200).fill(128), width: 300, height: 200 });
  expect(first([gray, gray, gray])?.probability ?? 0).toBeLessThan(0.01);
  expect(readOverTime([], codes)).toEqual([]);
});
