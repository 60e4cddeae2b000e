/** PDF pages as grey pictures, through PDFium, which shares no code with what drew them. */
import { PDFiumLibrary } from '@hyzyla/pdfium';

const POINTS_PER_INCH = 72;
const MM_PER_INCH = 25.4;

/** One byte a pixel, row by row from the top, 0 black to 255 white. */
export interface GrayImage {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
}

export interface RasterPage extends GrayImage {
  /** True scale along each axis: the page is a whole number of pixels, so neither is exactly dpi / 25.4. */
  readonly pxPerMmX: number;
  readonly pxPerMmY: number;
}

export interface BoxMm {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

let library: Promise<PDFiumLibrary> | undefined;

/** Every page of a PDF at `dpi`, in order. */
export async function rasterisePdf(pdf: Uint8Array, dpi: number): Promise<RasterPage[]> {
  library ??= PDFiumLibrary.init();
  const document = await (await library).loadDocument(pdf);
  try {
    const pages: RasterPage[] = [];
    for (const page of document.pages()) {
      const { originalWidth: widthPt, originalHeight: heightPt } = page.getOriginalSize();
      // Explicit pixels: PDFium's own `scale` floors the page to whole points, up to 0.3 mm off.
      const width = Math.round((widthPt / POINTS_PER_INCH) * dpi);
      const height = Math.round((heightPt / POINTS_PER_INCH) * dpi);
      const { data } = await page.render({ scale: 1, width, height, colorSpace: 'Gray', render: 'bitmap' });
      const pxPerMmX = (width * POINTS_PER_INCH) / (widthPt * MM_PER_INCH);
      const pxPerMmY = (height * POINTS_PER_INCH) / (heightPt * MM_PER_INCH);
      pages.push({ data: new Uint8Array(data), width, height, pxPerMmX, pxPerMmY });
    }
    return pages;
  } finally {
    document.destroy();
  }
}

/** The part of a page inside `box` (mm from its top left), at the page's own scale; the page must hold it. */
export function cutOut(page: RasterPage, box: BoxMm): RasterPage {
  const left = Math.round(box.x * page.pxPerMmX);
  const top = Math.round(box.y * page.pxPerMmY);
  const width = Math.round(box.width * page.pxPerMmX);
  const height = Math.round(box.height * page.pxPerMmY);
  if (left < 0 || top < 0 || left + width > page.width || top + height > page.height) {
    throw new RangeError(`box ${JSON.stringify(box)} leaves the page`);
  }
  const data = new Uint8Array(width * height);
  for (let row = 0; row < height; row++) {
    const from = (top + row) * page.width + left;
    data.set(page.data.subarray(from, from + width), row * width);
  }
  return { ...page, data, width, height };
}
