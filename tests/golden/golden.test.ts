/**
 * Tags look as they did when they were last looked at: places to a hundredth of a millimetre, then the
 * pictures. A wanted change is drawn with `npm run golden`, looked at, and committed with its reason.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { shippedStocks } from '../sheets/samples.js';
import { goldenPicture, goldenPlaces } from './draw.js';

const FOLDER = join(import.meta.dirname, '../../docs/tags');

/** Sixteen greys are 17 apart; other than that only a rasteriser's rounding may differ. */
const GREY_STEP = 24;

describe.each(shippedStocks)('$name', (stock) => {
  it('has its places', async () => {
    expect(await goldenPlaces(stock)).toBe(readFileSync(join(FOLDER, `${stock.name}.txt`), 'utf8'));
  });

  it('has its looks', async () => {
    const { data, width, height } = await goldenPicture(stock);
    const { data: kept, info } = await sharp(join(FOLDER, `${stock.name}.png`))
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect([info.width, info.height, info.channels]).toEqual([width, height, 1]);
    let differing = 0;
    kept.forEach((level, index) => {
      if (Math.abs(level - (data[index] ?? 0)) > GREY_STEP) differing++;
    });
    expect(differing / kept.length).toBeLessThan(0.001);
  });
});

it('docs/tags holds these stocks and no others', () => {
  const files = shippedStocks.flatMap(({ name }) => [`${name}.png`, `${name}.txt`]);
  expect(readdirSync(FOLDER).sort()).toEqual(files.sort());
});
