/**
 * What a printer and a flatbed scanner make of a page: drawn a little smaller, moved and askew on the
 * paper, then laid crooked on the glass, under uneven light, with noise. A pure function of its
 * arguments and the seed.
 *
 * Light is reckoned linearly and written as a scanner writes it (sRGB, IEC 61966-2-1).
 */
import sharp from 'sharp';
import { seededRandom } from './random.js';
import type { BoxMm, GrayImage, RasterPage } from './rasterise.js';

export interface Printing {
  /** What a millimetre of the page measures on the paper. */
  readonly scale: number;
  /** Where the page's top left corner comes to lie, mm from the paper's, right and down. */
  readonly offsetMm: { readonly x: number; readonly y: number };
  /** Clockwise about the paper's middle. */
  readonly skewDeg: number;
  /** Reflectance of ink and paper, 0 to 1. */
  readonly ink: number;
  readonly paper: number;
}

export interface Scanning {
  readonly dpi: number;
  /** Of the paper on the glass, clockwise about its middle. */
  readonly turnDeg: number;
  /** Glass in the picture around the paper, all round. */
  readonly marginMm: number;
  /** Reflectance of what lies behind the paper. */
  readonly ground: number;
  /** How much darker the light is at its darkest, as a share. */
  readonly uneven: number;
  /** Standard deviation of the noise, as a share of full light. */
  readonly noise: number;
  /** Width in pixels of what one pixel gathers light from. */
  readonly softPx: number;
}

export const TRUE_PRINT: Printing = {
  scale: 1,
  offsetMm: { x: 0, y: 0 },
  skewDeg: 0,
  ink: 0.03,
  paper: 0.86,
};

export const PLAIN_SCAN: Scanning = {
  dpi: 300,
  turnDeg: 0,
  marginMm: 8,
  ground: 0.12,
  uneven: 0,
  noise: 0.01,
  softPx: 1.4,
};

const MM_PER_INCH = 25.4;
/** Places along a side of a pixel that are looked at. */
const SUBSAMPLES = 2;

/** The paper after printing, seen through the scanner. */
export function scanSheet(page: RasterPage, printing: Printing, scanning: Scanning, seed: number): GrayImage {
  const random = seededRandom(seed);
  const { dpi, marginMm, ground, uneven, noise, softPx } = scanning;
  const [paperWidth, paperHeight] = [page.width / page.pxPerMmX, page.height / page.pxPerMmY];
  const pxPerMm = dpi / MM_PER_INCH;
  const width = Math.round((paperWidth + 2 * marginMm) * pxPerMm);
  const height = Math.round((paperHeight + 2 * marginMm) * pxPerMm);
  const middle = { x: paperWidth / 2, y: paperHeight / 2 };
  // From glass to paper, and from paper to page: both are turned back about the paper's middle.
  const [cos, sin] = turned(-scanning.turnDeg);
  const [skewCos, skewSin] = turned(-printing.skewDeg);
  const reflected = (xMm: number, yMm: number): number => {
    const gx = xMm - marginMm - middle.x;
    const gy = yMm - marginMm - middle.y;
    const px = cos * gx - sin * gy;
    const py = sin * gx + cos * gy;
    if (Math.abs(px) > middle.x || Math.abs(py) > middle.y) return ground;
    const x = (middle.x + skewCos * px - skewSin * py - printing.offsetMm.x) / printing.scale;
    const y = (middle.y + skewSin * px + skewCos * py - printing.offsetMm.y) / printing.scale;
    return printing.ink + ((printing.paper - printing.ink) * levelOf(page, x, y)) / 255;
  };
  const [fromX, fromY] = [random.between(0, 1), random.between(0, 1)];
  // A table of normal values, drawn from at random: making each anew would take most of the time.
  const normals = Float32Array.from({ length: 1 << 14 }, () => random.normal());
  const data = new Uint8Array(width * height);
  for (let py = 0, at = 0; py < height; py++) {
    for (let px = 0; px < width; px++, at++) {
      let light = 0;
      for (let sub = 0; sub < SUBSAMPLES * SUBSAMPLES; sub++) {
        const dx = ((sub % SUBSAMPLES) + 0.5) / SUBSAMPLES - 0.5;
        const dy = (Math.floor(sub / SUBSAMPLES) + 0.5) / SUBSAMPLES - 0.5;
        light += reflected((px + 0.5 + dx * softPx) / pxPerMm, (py + 0.5 + dy * softPx) / pxPerMm);
      }
      const away = Math.min(1, Math.hypot(px / width - fromX, py / height - fromY));
      const seen =
        (light / SUBSAMPLES ** 2) * (1 - uneven * away) +
        noise * (normals[random.below(normals.length)] as number);
      data[at] = Math.round(255 * encoded(Math.min(1, Math.max(0, seen))));
    }
  }
  return { data, width, height };
}

/** A picture file of a scan; `dpi` is what the file states, null for nothing. */
export async function encodeScan(
  { data, width, height }: GrayImage,
  format: 'png' | 'jpeg' | 'webp',
  dpi: number | null,
): Promise<Uint8Array> {
  let image = sharp(data, { raw: { width, height, channels: 1 } }).toColourspace('b-w');
  if (dpi !== null) image = image.withMetadata({ density: dpi });
  return new Uint8Array(await image.toFormat(format, format === 'png' ? {} : { quality: 90 }).toBuffer());
}

/** A page with a place filled: a label taken off, or something laid over it. */
export function filled(page: RasterPage, box: BoxMm, level: number): RasterPage {
  const data = new Uint8Array(page.data);
  const { left, top, width, height } = pixels(page, box);
  for (let row = top; row < top + height; row++) {
    data.fill(level, row * page.width + left, row * page.width + left + width);
  }
  return { ...page, data };
}

/** A page on which what is in `from` is also in `to`, a place of the same size. */
export function copied(page: RasterPage, from: BoxMm, to: BoxMm): RasterPage {
  const data = new Uint8Array(page.data);
  const [source, target] = [pixels(page, from), pixels(page, to)];
  for (let row = 0; row < source.height; row++) {
    const at = (source.top + row) * page.width + source.left;
    data.set(page.data.subarray(at, at + source.width), (target.top + row) * page.width + target.left);
  }
  return { ...page, data };
}

function pixels(page: RasterPage, { x, y, width, height }: BoxMm) {
  return {
    left: Math.round(x * page.pxPerMmX),
    top: Math.round(y * page.pxPerMmY),
    width: Math.round(width * page.pxPerMmX),
    height: Math.round(height * page.pxPerMmY),
  };
}

function turned(degrees: number): readonly [cos: number, sin: number] {
  const angle = (degrees * Math.PI) / 180;
  return [Math.cos(angle), Math.sin(angle)];
}

/** Between pixels; white beyond the page. */
function levelOf({ data, width, height, pxPerMmX, pxPerMmY }: RasterPage, xMm: number, yMm: number): number {
  const x = xMm * pxPerMmX - 0.5;
  const y = yMm * pxPerMmY - 0.5;
  if (x < 0 || y < 0 || x >= width - 1 || y >= height - 1) return 255;
  const left = Math.floor(x);
  const top = Math.floor(y);
  const fx = x - left;
  const fy = y - top;
  const at = top * width + left;
  const upper = (data[at] as number) * (1 - fx) + (data[at + 1] as number) * fx;
  const lower = (data[at + width] as number) * (1 - fx) + (data[at + width + 1] as number) * fx;
  return upper * (1 - fy) + lower * fy;
}

const encoded = (light: number): number =>
  light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055;
