/**
 * Signs of stations, drawn on stocks of every form and read back by two decoders that share no code with
 * what drew them.
 */
import { describe, expect, it } from 'vitest';
import { readSign } from '../../src/codes/station-sign.js';
import { renderLabels } from '../../src/sheets/sheets.js';
import { SignComposer, signOf } from '../../src/sheets/sign.js';
import type { Stock } from '../../src/sheets/stock.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { cutOut, rasterisePdf } from '../support/rasterise.js';
import { PLAIN, shippedStocks } from './samples.js';

const STATIONS = ['bench 2 / row 3 / 7', 'A3-07', 'Südwand 12', 'Полка у двери 4', '東の棚 3', 'רף 7 🌱'];
/** Hold no sign of such a name at their least module, or only the first two. */
const TOO_SMALL = ['a4-189-25x10', 'letter-80-44x13', 'stake-a4-16x127', 'stake-letter-16x127'];
const SMALL = ['a4-65-38x21', 'roll-300-38x25', 'loop-a4-200x25', 'roll-300-loop-25x200'];

const stocks = shippedStocks.filter(({ name }) => !TOO_SMALL.includes(name));

async function signsOn(stock: Stock, stations: readonly string[]) {
  return renderLabels(
    stock,
    stations.map(signOf),
    stations,
    PLAIN,
    (typesetter, dpi) => new SignComposer(stock, dpi, typesetter),
  );
}

describe('signs', () => {
  for (const stock of stocks) {
    it(`on ${stock.name} are read back by both decoders`, async () => {
      const stations = SMALL.includes(stock.name) ? STATIONS.slice(0, 2) : STATIONS;
      const { pdf, placed } = await signsOn(stock, stations);
      const pages = await rasterisePdf(pdf, 400);
      for (const { label, page, boxMm } of placed) {
        const face = cutOut(pages[page - 1] as (typeof pages)[number], boxMm);
        for (const read of [readWithZxing, readWithZbar]) {
          const stations = new Set((await read(face)).map(({ text }) => readSign(text)));
          expect(stations).toEqual(new Set([label.station]));
        }
      }
    });
  }

  it('say which do not fit', async () => {
    for (const stock of shippedStocks.filter(({ name }) => TOO_SMALL.includes(name))) {
      await expect(signsOn(stock, STATIONS)).rejects.toMatchObject({ code: 'symbol-does-not-fit' });
    }
  });

  it('show the whole name of any usual station', async () => {
    for (const stock of stocks) {
      expect((await signsOn(stock, [STATIONS[0] as string])).shortened).toEqual([]);
    }
  });
});
