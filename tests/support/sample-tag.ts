/**
 * A plain tag of the tests' own, as a PDF: frame, QR code or Code 128, and the text in large type. It
 * owes nothing to the product's drawing code, so that reading can be tested apart from it.
 */
import bwipjs from 'bwip-js/node';
import { PDFDocument, type PDFPage, StandardFonts } from 'pdf-lib';
import sharp from 'sharp';
import { type BoxMm, cutOut, type RasterPage, rasterisePdf } from './rasterise.js';

const PT_PER_MM = 72 / 25.4;

/** A label size common on A4 sheets. */
const TAG_MM = { width: 63.5, height: 38.1 };
/** Room around the label on its page. */
const PAGE_MARGIN_MM = 5;

export interface SampleTag {
  readonly face: RasterPage;
  /** The symbol without its quiet zone, mm from the tag's top left. */
  readonly symbolMm: BoxMm;
}

/** A tag with a version 1-H QR code of `moduleMm`, at left. */
export async function sampleQrTag(text: string, moduleMm = 1, dpi = 300): Promise<SampleTag> {
  const symbol = bwipjs.raw('qrcode', text, {
    eclevel: 'H',
    version: '1',
    fixedeclevel: true,
    mask: 7,
  } as never);
  const { pixs, pixx } = symbol[0] as unknown as { pixs: number[]; pixx: number };
  const size = pixx * moduleMm;
  const symbolMm = { x: 4.5, y: (TAG_MM.height - size) / 2, width: size, height: size };
  return drawn(text, symbolMm, dpi, (rectangle) => {
    pixs.forEach((dark, index) => {
      const [column, row] = [index % pixx, Math.floor(index / pixx)];
      if (dark) rectangle(symbolMm.x + column * moduleMm, symbolMm.y + row * moduleMm, moduleMm, moduleMm);
    });
  });
}

/** A tag with a Code 128 of `moduleMm`, 14 mm high. */
export async function sampleCode128Tag(text: string, moduleMm = 0.4, dpi = 300): Promise<SampleTag> {
  const symbol = bwipjs.raw('code128', text, {});
  const { sbs } = symbol[0] as unknown as { sbs: number[] };
  const width = sbs.reduce((sum, modules) => sum + modules, 0) * moduleMm;
  const symbolMm = { x: (TAG_MM.width - width) / 2, y: 4, width, height: 14 };
  return drawn(text, symbolMm, dpi, (rectangle) => {
    let x = symbolMm.x;
    sbs.forEach((modules, index) => {
      if (index % 2 === 0) rectangle(x, symbolMm.y, modules * moduleMm, symbolMm.height);
      x += modules * moduleMm;
    });
  });
}

/** A photo of tags one under the other on a grey bench, as a PNG file. */
export async function photoOnBench(...tags: readonly SampleTag[]): Promise<Buffer> {
  const [gap, ground] = [80, { r: 120, g: 120, b: 110 }];
  const faces = await Promise.all(
    tags.map(({ face: { data, width, height } }) =>
      sharp(data, { raw: { width, height, channels: 1 } })
        .png()
        .toBuffer(),
    ),
  );
  const { width = 0, height = 0 } = tags[0]?.face ?? {};
  const size = { width: width + gap, height: faces.length * (height + gap) };
  return sharp({ create: { ...size, channels: 3, background: ground } })
    .composite(faces.map((input, index) => ({ input, left: gap / 2, top: gap / 2 + index * (height + gap) })))
    .png()
    .toBuffer();
}

type DrawRectangle = (xMm: number, yMm: number, widthMm: number, heightMm: number) => void;

async function drawn(
  text: string,
  symbolMm: BoxMm,
  dpi: number,
  draw: (rectangle: DrawRectangle) => void,
): Promise<SampleTag> {
  const document = await PDFDocument.create();
  const pageMm = { width: TAG_MM.width + 2 * PAGE_MARGIN_MM, height: TAG_MM.height + 2 * PAGE_MARGIN_MM };
  const page = document.addPage([pageMm.width * PT_PER_MM, pageMm.height * PT_PER_MM]);
  const rectangle = rectanglesOn(page, pageMm.height);
  draw(rectangle);
  // A thin frame, well outside the quiet zone.
  const [inset, line] = [1, 0.4];
  const [frameWidth, frameHeight] = [TAG_MM.width - 2 * inset, TAG_MM.height - 2 * inset];
  rectangle(inset, inset, frameWidth, line);
  rectangle(inset, inset + frameHeight - line, frameWidth, line);
  rectangle(inset, inset, line, frameHeight);
  rectangle(inset + frameWidth - line, inset, line, frameHeight);
  const font = await document.embedFont(StandardFonts.HelveticaBold);
  const isBeside = symbolMm.x + symbolMm.width < TAG_MM.width / 2;
  const place = isBeside ? { x: symbolMm.x + symbolMm.width + 4.5, y: 16 } : { x: 18, y: 30 };
  const at = {
    x: (place.x + PAGE_MARGIN_MM) * PT_PER_MM,
    y: (pageMm.height - PAGE_MARGIN_MM - place.y) * PT_PER_MM,
  };
  page.drawText(text, { ...at, size: 22, font });
  page.drawText('Quillon Dusk × Brackwater', { ...at, y: at.y - 20, size: 6, font });
  const [raster] = await rasterisePdf(await document.save(), dpi);
  if (!raster) throw new Error('the page was not drawn');
  return { face: cutOut(raster, { x: PAGE_MARGIN_MM, y: PAGE_MARGIN_MM, ...TAG_MM }), symbolMm };
}

/** Draws black rectangles given in mm from the label's top left; PDF counts points from the bottom left. */
function rectanglesOn(page: PDFPage, pageHeightMm: number): DrawRectangle {
  return (x, y, width, height) =>
    page.drawRectangle({
      x: (x + PAGE_MARGIN_MM) * PT_PER_MM,
      y: (pageHeightMm - PAGE_MARGIN_MM - y - height) * PT_PER_MM,
      width: width * PT_PER_MM,
      height: height * PT_PER_MM,
    });
}
