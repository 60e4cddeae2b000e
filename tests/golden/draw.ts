/**
 * Golden tags: three tags on every shipped stock with every symbol it holds, as a picture to look at and
 * as places in millimetres to compare.
 */
import sharp from 'sharp';
import { InputError } from '../../src/errors.js';
import { Composer } from '../../src/sheets/compose.js';
import { boxOf, facesDots } from '../../src/sheets/faces.js';
import { renderSheets, type Tag } from '../../src/sheets/sheets.js';
import type { Stock, SymbolChoice } from '../../src/sheets/stock.js';
import { CAP_EM, Typesetter } from '../../src/sheets/typesetter.js';
import { PLAIN, SYMBOLS, tag } from '../sheets/samples.js';
import { type BoxMm, cutOut, type GrayImage, type RasterPage, rasterisePdf } from '../support/rasterise.js';

/** A usual tag; one with long names, of two scripts, and a late issue; a cutting. */
const GOLDEN_TAGS: readonly Tag[] = [
  tag('K7FY5', 1, { cross: 'Aurelda × Tessa', key: 'North bench 12' }),
  tag('ZZZ7R', 12, { cross: 'Black Lantern of the Old Wall × Ночная Řeka 14', key: 'A3-07' }),
  tag('00001', 3, { origin: 'K7FY5', key: 'A3-08', sown: null }),
];

const DPI = 150;
const MARGIN_PX = 10;
const GROUND = 0xb8;
/** Where a stock must not be printed. */
const ZONE = 0xe4;
/** A cell this much longer than wide is shown beside or below the others, in one row or column. */
const LONG = 2.5;

/** Every tag of a stock on one picture: a column a symbol, a row a tag; long cells all in one line. */
export async function goldenPicture(stock: Stock): Promise<GrayImage> {
  const cells: (GrayImage | null)[] = [];
  for (const symbol of SYMBOLS) cells.push(...(await cellPictures(stock, symbol)));
  const shown = cells.filter((cell) => cell !== null);
  const [first] = shown;
  if (first === undefined) throw new Error(`${stock.name} holds no symbol`);
  const rows =
    first.height > LONG * first.width
      ? 1
      : first.width > LONG * first.height
        ? shown.length
        : GOLDEN_TAGS.length;
  const columns = Math.ceil(shown.length / rows);
  const [stepX, stepY] = [first.width + MARGIN_PX, first.height + MARGIN_PX];
  const width = columns * stepX + MARGIN_PX;
  const height = rows * stepY + MARGIN_PX;
  const data = new Uint8Array(width * height).fill(GROUND);
  shown.forEach((cell, index) => {
    const x = MARGIN_PX + Math.floor(index / rows) * stepX;
    const y = MARGIN_PX + (index % rows) * stepY;
    for (let row = 0; row < first.height; row++) {
      data.set(cell.data.subarray(row * cell.width, row * cell.width + first.width), (y + row) * width + x);
    }
  });
  return { data, width, height };
}

/** As kept in docs/tags: sixteen greys. */
export async function pngOf({ data, width, height }: GrayImage): Promise<Buffer> {
  return sharp(data, { raw: { width, height, channels: 1 } })
    .png({ palette: true, colours: 16, dither: 0, effort: 10 })
    .toBuffer();
}

async function cellPictures(stock: Stock, symbol: SymbolChoice): Promise<(GrayImage | null)[]> {
  const pictures: (GrayImage | null)[] = [];
  for (const one of GOLDEN_TAGS) {
    const sheets = await ifItFits(() => renderSheets(stock, [one], { ...PLAIN, symbol }));
    const placed = sheets?.placed[0];
    if (sheets === null || placed === undefined) continue;
    const [page] = await rasterisePdf(sheets.pdf, DPI);
    if (page === undefined) throw new Error('no page');
    pictures.push(cutOut(withZones(page, stock, placed.boxMm), within(page, placed.boxMm)));
  }
  return pictures;
}

function withZones(page: RasterPage, stock: Stock, cell: BoxMm): RasterPage {
  for (const zone of stock.no_print.map(boxOf)) {
    const px = (mm: number) => Math.round(mm * page.pxPerMmX);
    const right = Math.min(page.width, px(cell.x + zone.x + zone.width));
    for (let y = px(cell.y + zone.y); y < Math.min(page.height, px(cell.y + zone.y + zone.height)); y++) {
      page.data.fill(ZONE, y * page.width + px(cell.x + zone.x), y * page.width + right);
    }
  }
  return page;
}

/** A cell that ends at the page's edge may round to a pixel beyond it. */
function within(page: RasterPage, box: BoxMm): BoxMm {
  return {
    ...box,
    width: Math.min(box.width, Math.floor(page.width - box.x * page.pxPerMmX) / page.pxPerMmX),
    height: Math.min(box.height, Math.floor(page.height - box.y * page.pxPerMmY) / page.pxPerMmY),
  };
}

/** Everything on every tag of a stock: millimetres from the face's top left, text from its baseline's start. */
export async function goldenPlaces(stock: Stock): Promise<string> {
  const typesetter = await Typesetter.open(GOLDEN_TAGS.map(({ cross }) => cross ?? ''));
  const mm = (dots: number) => ((dots * 25.4) / stock.dpi).toFixed(2);
  const lines: string[] = [];
  for (const symbol of SYMBOLS) {
    const composer = new Composer(stock, symbol, stock.dpi, 'H', typesetter);
    for (const one of GOLDEN_TAGS) {
      for (const [index, face] of facesDots(stock, stock.dpi).entries()) {
        lines.push(`${stock.name}, ${symbol}, ${one.text}, face ${index + 1}`);
        const composition = await ifItFits(async () => composer.compose(one, face));
        if (composition === null) lines.push('  does not fit');
        for (const { kind, box, moduleDots } of composition?.symbols ?? []) {
          const size = `${mm(box.width)} × ${mm(box.height)}`;
          lines.push(`  ${mm(box.x)} ${mm(box.y)}  ${kind} ${size}, module ${mm(moduleDots)}`);
        }
        for (const { text, weight, sizeDots, x, y, turn } of composition?.texts ?? []) {
          const turned = turn === 0 ? '' : `, turned ${turn}`;
          lines.push(`  ${mm(x)} ${mm(y)}  "${text}" ${weight}, capitals ${mm(CAP_EM * sizeDots)}${turned}`);
        }
        for (const { full } of composition?.shortened ?? []) lines.push(`  shortened: ${full}`);
      }
    }
  }
  return `${lines.join('\n')}\n`;
}

async function ifItFits<T>(work: () => Promise<T>): Promise<T | null> {
  try {
    return await work();
  } catch (error) {
    if (error instanceof InputError && error.code === 'symbol-does-not-fit') return null;
    throw error;
  }
}
