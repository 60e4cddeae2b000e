/** The picture that shows why bars were read as they were, of bars drawn so that it is known what hides them. */

import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { code128Bars } from '../../../src/codes/code128.js';
import { packBarCodes } from '../../../src/scan/reading/bars-codes.js';
import { readBarsByLedger } from '../../../src/scan/reading/bars-read.js';
import { explainedBars } from '../../../src/scan/reading/explain-bars.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { ledgerTexts } from '../../bench/weather-tags.js';

const TEXTS = ledgerTexts();
const GROUPS = packBarCodes(TEXTS, strangersTo(new Set(TEXTS), 5));
const PX = 3;
const MARGIN = 12 * PX;
const [TOP, HEIGHT] = [60, 90];
/** The first three tenths of the bars are under mud. */
const HIDDEN_SHARE = 0.3;

/** Bars of a module of 3 pixels, black on white, and mud over where they begin. */
function muddyBars(text: string) {
  const { widths, modules } = code128Bars(text);
  const isDark = widths.flatMap((width, index) => Array<boolean>(width).fill(index % 2 === 0));
  const [width, height] = [modules * PX + 2 * MARGIN, HEIGHT + 2 * TOP];
  const data = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const isBar = y >= TOP && y < TOP + HEIGHT && isDark[Math.floor((x - MARGIN) / PX)] === true;
      const isMud = x > 0 && x < MARGIN + HIDDEN_SHARE * modules * PX;
      data.set(isMud ? [104, 76, 50] : isBar ? [30, 30, 30] : [235, 235, 235], (y * width + x) * 3);
    }
  }
  return { data, width, height };
}

type Look = (x: number, y: number) => readonly number[];
let look: Look;
let size: { readonly width: number; readonly height: number };

beforeAll(async () => {
  const picture = muddyBars(TEXTS[700] as string);
  const [reading] = readBarsByLedger(searchable(picture), GROUPS);
  if (reading === undefined) throw new Error('bars');
  expect(reading.suspects[0]?.text).toBe(TEXTS[700]);
  const { data, info } = await sharp((await explainedBars(picture, reading)).picture)
    .raw()
    .toBuffer({ resolveWithObject: true });
  size = info;
  look = (x, y) => [...data.subarray((y * info.width + x) * 3, (y * info.width + x) * 3 + 3)];
});

/** Pixels across the bars, the margins of the picture left out, from this share of them to that. */
const across = (from: number, to: number): number[] =>
  Array.from({ length: 60 }, (_, step) =>
    Math.round(size.width * (0.1 + 0.8 * (from + ((to - from) * step) / 60))),
  );

const isPink = ([red = 0, green = 0, blue = 0]: readonly number[]): boolean =>
  red - green > 40 && blue - green > 0;

describe('of bars under mud where they begin', () => {
  it('the mud is tinted, and the bars that were believed are not', () => {
    const y = Math.round(size.height * 0.3);
    expect(across(0.02, 0.2).every((x) => isPink(look(x, y)))).toBe(true);
    expect(across(0.4, 0.95).some((x) => isPink(look(x, y)))).toBe(false);
  });

  it('the tag that was read has grey bars where none were seen, and black ones where they were', () => {
    const y = Math.round(size.height - 60);
    const levels = (from: number, to: number) => across(from, to).map((x) => look(x, y)[0] as number);
    expect(Math.min(...levels(0.02, 0.2))).toBeGreaterThan(150);
    expect(Math.min(...levels(0.4, 0.95))).toBeLessThan(20);
  });
});
