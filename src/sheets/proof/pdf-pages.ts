/**
 * Pages of a PDF as grey pictures, through PDFium, which shares no code with what draws our PDFs.
 * The only file that speaks to it.
 */
import { MM_PER_INCH } from '../../codes/module-fit.js';
import { InputError } from '../../errors.js';
import type { GrayPicture } from '../../scan/picture.js';

const POINTS_PER_INCH = 72;

/** Larger pages than any sheet or roll (2 m each way) would only fill the memory. */
const MOST_POINTS = (2000 * POINTS_PER_INCH) / MM_PER_INCH;

export interface PagePicture extends GrayPicture {
  readonly widthMm: number;
  readonly heightMm: number;
}

export interface PdfPages {
  readonly count: number;
  /** @param number from 1 */
  page(number: number): Promise<PagePicture>;
  close(): void;
}

export function isPdf(bytes: Uint8Array): boolean {
  return Buffer.from(bytes.subarray(0, 1024)).includes('%PDF-');
}

/** Opens a PDF to be drawn at `dpi`. Throws `InputError` (`pdf-damaged`) when it is none. */
export async function openPdf(bytes: Uint8Array, dpi: number): Promise<PdfPages> {
  const { PDFiumLibrary } = await import('@hyzyla/pdfium');
  const library = await PDFiumLibrary.init();
  const document = await library.loadDocument(bytes).catch((cause: Error) => {
    throw new InputError(
      'pdf-damaged',
      'The PDF is cut short, damaged or locked with a password.',
      'Copy it again, or save it without a password.',
      {},
      [],
      { cause },
    );
  });
  return {
    count: document.getPageCount(),
    async page(number) {
      const page = document.getPage(number - 1);
      const { originalWidth: widthPt, originalHeight: heightPt } = page.getOriginalSize();
      if (!(widthPt > 0 && heightPt > 0 && Math.max(widthPt, heightPt) <= MOST_POINTS)) {
        throw new InputError(
          'page-too-large',
          `Page ${number} of the PDF is ${widthPt} × ${heightPt} points.`,
          'Give the PDF as it was printed.',
        );
      }
      // Explicit pixels: PDFium's own `scale` floors the page to whole points, up to 0.3 mm off.
      const width = Math.max(1, Math.round((widthPt / POINTS_PER_INCH) * dpi));
      const height = Math.max(1, Math.round((heightPt / POINTS_PER_INCH) * dpi));
      const { data } = await page.render({ scale: 1, width, height, colorSpace: 'Gray', render: 'bitmap' });
      return {
        data: new Uint8Array(data),
        width,
        height,
        widthMm: (widthPt / POINTS_PER_INCH) * MM_PER_INCH,
        heightMm: (heightPt / POINTS_PER_INCH) * MM_PER_INCH,
      };
    },
    close() {
      document.destroy();
      library.destroy();
    },
  };
}
