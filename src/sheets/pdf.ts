/**
 * Pages written as content streams of whole dots. Everything of a document that does not depend on
 * what is on the pages stands here: boxes, fonts, metadata, compression.
 */
import { promisify } from 'node:util';
import { deflate } from 'node:zlib';
import { PDFDocument, PDFName, PDFRawStream, type PDFRef, PrintScaling } from 'pdf-lib';
import type { Content } from './content.js';
import type { Turn } from './geometry.js';
import { type FontKey, MISSING_BOX_EM, type SetText, type Typesetter } from './typesetter.js';

const compress = promisify(deflate);

/** Of 1 to 9: a tag takes a fifth more bytes than at the usual 6, and a third less time to compress. */
const DEFLATE_LEVEL = 4;

const POINTS_PER_INCH = 72;

/** Of the text matrix, for text turned clockwise in a space whose y axis points down. */
const TURNED: Readonly<Record<Turn, string>> = {
  0: '1 0 0 -1',
  90: '0 1 1 0',
  180: '-1 0 0 1',
  270: '0 -1 -1 0',
};

/** Outline that stands for a character no font has, as shares of the type size. */
const MISSING_HEIGHT_EM = 0.668;
const MISSING_LINE_EM = 0.06;

/** A document whose pages are drawn in dots from their top left corner, y pointing down. */
export class DotPdf {
  readonly #document: PDFDocument;
  readonly #typesetter: Typesetter;
  readonly #dpi: number;
  readonly #resources: PDFRef;
  #compressing: Promise<void> = Promise.resolve();

  private constructor(document: PDFDocument, typesetter: Typesetter, dpi: number) {
    this.#document = document;
    this.#typesetter = typesetter;
    this.#dpi = dpi;
    this.#resources = document.context.nextRef();
  }

  static async create(
    typesetter: Typesetter,
    title: string,
    madeAt: Date | null,
    dpi: number,
  ): Promise<DotPdf> {
    // Otherwise pdf-lib writes the time of the call, and equal sheets would differ.
    const document = await PDFDocument.create({ updateMetadata: false });
    document.setTitle(title, { showInWindowTitleBar: true });
    // A viewer that shrinks the page to its printer's margins would move every tag off its cell.
    document.catalog.getOrCreateViewerPreferences().setPrintScaling(PrintScaling.None);
    document.setCreator('Pottag');
    document.setProducer('Pottag');
    if (madeAt !== null) {
      document.setCreationDate(madeAt);
      document.setModificationDate(madeAt);
    }
    return new DotPdf(document, typesetter, dpi);
  }

  /**
   * Adds a page of whole dots with all that `content` holds, which it empties. Its compression goes on beside the
   * caller's next page; awaiting the call keeps the number of pages in the making small.
   */
  async addPage(widthDots: number, heightDots: number, content: Content): Promise<void> {
    const { context } = this.#document;
    const scale = POINTS_PER_INCH / this.#dpi;
    const page = this.#document.addPage([widthDots * scale, heightDots * scale]);
    const contents = context.nextRef();
    page.node.set(PDFName.of('Contents'), contents);
    page.node.set(PDFName.of('Resources'), this.#resources);
    const compressed = compress(content.take(), { level: DEFLATE_LEVEL }).then((bytes) => {
      const dictionary = context.obj({ Filter: 'FlateDecode', Length: bytes.length });
      context.assign(contents, PDFRawStream.of(dictionary, bytes));
    });
    await this.#compressing;
    this.#compressing = compressed;
  }

  /** What a page's content must begin with, so that one unit is a dot and y points down. */
  pageSpace(heightDots: number): string {
    const scale = POINTS_PER_INCH / this.#dpi;
    return `${real(scale)} 0 0 ${real(-scale)} 0 ${real(heightDots * scale)} cm\n`;
  }

  async save(): Promise<Uint8Array> {
    await this.#compressing;
    const { context } = this.#document;
    const fonts: Partial<Record<FontKey, PDFRef>> = {};
    for (const { key, embedder } of this.#typesetter.usedFonts) {
      fonts[key] = await embedder.embedIntoContext(context);
    }
    context.assign(this.#resources, context.obj({ Font: fonts }));
    return this.#document.save({ addDefaultPage: false, updateFieldAppearances: false });
  }
}

/** Shows a text whose baseline starts at x, y. */
export function showText(text: SetText, sizeDots: number, x: number, y: number, turn: Turn): string {
  let shown = '';
  let alongEm = 0;
  for (const run of text.runs) {
    const [dx, dy] = ahead(turn, Math.round(alongEm * sizeDots));
    const place = `${TURNED[turn]} ${x + dx} ${y + dy}`;
    shown +=
      run.hex === null
        ? missingBox(place, sizeDots)
        : `BT /${run.key} ${sizeDots} Tf ${place} Tm <${run.hex}> Tj ET\n`;
    alongEm += run.widthEm;
  }
  return shown;
}

function missingBox(place: string, sizeDots: number): string {
  const line = Math.max(1, Math.round(MISSING_LINE_EM * sizeDots));
  const width = Math.round((MISSING_BOX_EM - 2 * MISSING_LINE_EM) * sizeDots) - line;
  const height = Math.round(MISSING_HEIGHT_EM * sizeDots) - line;
  return `q ${place} cm ${line} w ${1.5 * line} ${line / 2} ${width} ${height} re S Q\n`;
}

function ahead(turn: Turn, dots: number): readonly [number, number] {
  switch (turn) {
    case 0:
      return [dots, 0];
    case 90:
      return [0, dots];
    case 180:
      return [-dots, 0];
    case 270:
      return [0, -dots];
  }
}

/** A number as PDF writes it: no exponent, no superfluous digits. */
export function real(value: number): string {
  return String(Number(value.toFixed(6)));
}
