/** How the paper itself lies in a picture: what scale and offset of the print are measured against. */
import type { GrayPicture } from '../../scan/picture.js';
import { findPaper, type Quad } from './paper-edges.js';
import {
  composed,
  distance,
  fitHomography,
  inverted,
  mapPoint,
  type PlaneMap,
  type Point,
  similarity,
} from './projective.js';

/**
 * - `pdf page`: the page of a PDF, exact
 * - `paper edges`: the four edges of the paper, seen against a darker ground
 * - `whole picture`: the picture is taken for the page; true only if it was cut exactly at the paper's edges
 * - `density`: only the file's dots per inch; there is a scale, but no offset
 */
export type MeasuredBy = 'pdf page' | 'paper edges' | 'whole picture' | 'density';

export interface Paper {
  /** From pixels to mm from the paper's top left. */
  readonly map: PlaneMap;
  readonly by: MeasuredBy;
  /** What says how long a millimetre is. */
  readonly scaleBy: 'pdf page' | 'density' | 'paper size';
}

interface PageSize {
  readonly widthMm: number;
  readonly heightMm: number;
}

/** A file's density is believed where it agrees so well with the symbols' own size. */
const DENSITY_AGREES = 0.08;
/** The paper's corners lie at most so far (mm) from where the print has them. */
const MOST_AWAY_MM = 30;
/** A picture that is to be the page is as large as the page, give or take this. */
const PICTURE_IS_PAGE_MM = 1.5;
const PICTURE_IS_PAGE_SHARE = 0.01;
/** Paper is cut true to about half a per cent (ISO 216); a file's density is truer. */
const PAPER_IS_TRUE = 0.01;

/** The part of the picture that is most likely the page: the paper, or the whole picture. */
export function pageQuad(picture: GrayPicture): { readonly quad: Quad; readonly isPaper: boolean } {
  const quad = findPaper(picture);
  return quad === null ? { quad: pictureQuad(picture), isPaper: false } : { quad, isPaper: true };
}

/** Takes the quad for the page, in whichever of the four positions: pixels brought near to mm. */
export function roughPlane(quad: Quad, { widthMm, heightMm }: PageSize): PlaneMap {
  const across = distance(quad[0], quad[1]) + distance(quad[2], quad[3]);
  const down = distance(quad[1], quad[2]) + distance(quad[3], quad[0]);
  const isTurned = across > down !== widthMm > heightMm;
  const [width, height] = isTurned ? [heightMm, widthMm] : [widthMm, heightMm];
  return toRectangle(quad, width, height) ?? similarity(1, 0, 0, 0);
}

/**
 * The paper in the picture, oriented by the print's pose; null when nothing says where or how large it is.
 * @param pose from pixels to the printed page's mm
 * @param dpi the density the file states; null for none
 */
export function findPaperMap(
  picture: GrayPicture,
  { quad, isPaper }: { readonly quad: Quad; readonly isPaper: boolean },
  size: PageSize,
  pose: PlaneMap,
  dpi: number | null,
): Paper | null {
  const toPicture = inverted(pose);
  const middle = { x: size.widthMm / 2, y: size.heightMm / 2 };
  const pxPerMm =
    distance(mapPoint(toPicture, middle), mapPoint(toPicture, { x: middle.x + 1, y: middle.y + 1 })) /
    Math.SQRT2;
  const stated = dpi === null ? null : dpi / 25.4;
  const density = stated !== null && Math.abs(pxPerMm / stated - 1) < DENSITY_AGREES ? stated : null;
  const corners = oriented(quad, size, toPicture);
  if (isPaper && corners.awayPx / pxPerMm < MOST_AWAY_MM) {
    const byDensity = density === null ? null : rightAngled(corners.quad, size, density);
    if (byDensity !== null) return { map: byDensity, by: 'paper edges', scaleBy: 'density' };
    const map = toRectangle(corners.quad, size.widthMm, size.heightMm);
    return map && { map, by: 'paper edges', scaleBy: 'paper size' };
  }
  return wholePicture(picture, size, toPicture, pxPerMm, density);
}

function wholePicture(
  picture: GrayPicture,
  size: PageSize,
  toPicture: PlaneMap,
  pxPerMm: number,
  density: number | null,
): Paper | null {
  const { quad, awayPx } = oriented(pictureQuad(picture), size, toPicture);
  const [width, height] = [distance(quad[0], quad[1]), distance(quad[1], quad[2])];
  if (density !== null) {
    const isPage =
      Math.abs(width / density - size.widthMm) < PICTURE_IS_PAGE_MM &&
      Math.abs(height / density - size.heightMm) < PICTURE_IS_PAGE_MM;
    return { map: fromCorner(quad, density), by: isPage ? 'whole picture' : 'density', scaleBy: 'density' };
  }
  const stretch = width / height / (size.widthMm / size.heightMm);
  const isPage = Math.abs(stretch - 1) < PICTURE_IS_PAGE_SHARE && awayPx / pxPerMm < MOST_AWAY_MM / 2;
  const map = isPage ? toRectangle(quad, size.widthMm, size.heightMm) : null;
  return map && { map, by: 'whole picture', scaleBy: 'paper size' };
}

/** The quad from the corner that is the page's top left, and how far its corners lie from the print's. */
function oriented(
  quad: Quad,
  { widthMm, heightMm }: PageSize,
  toPicture: PlaneMap,
): { quad: Quad; awayPx: number } {
  const expected = [
    { x: 0, y: 0 },
    { x: widthMm, y: 0 },
    { x: widthMm, y: heightMm },
    { x: 0, y: heightMm },
  ].map((corner) => mapPoint(toPicture, corner));
  const turned = [0, 1, 2, 3].map((by) => {
    const corners = quad.map((_, index) => quad[(index + by) % 4]) as unknown as Quad;
    const away = corners.reduce((sum, corner, index) => sum + distance(corner, expected[index] as Point), 0);
    return { quad: corners, awayPx: away / 4 };
  });
  return turned.reduce((best, next) => (next.awayPx < best.awayPx ? next : best));
}

/** By density, the paper's corner and the mean direction of its edges; null where the size contradicts. */
function rightAngled(quad: Quad, { widthMm, heightMm }: PageSize, pxPerMm: number): PlaneMap | null {
  const [a, b, c, d] = quad;
  const width = (distance(a, b) + distance(c, d)) / 2 / pxPerMm;
  const height = (distance(b, c) + distance(d, a)) / 2 / pxPerMm;
  const isTrue =
    Math.abs(width / widthMm - 1) < PAPER_IS_TRUE && Math.abs(height / heightMm - 1) < PAPER_IS_TRUE;
  return isTrue ? fromCorner(quad, pxPerMm) : null;
}

/** Millimetres from the first corner, along the mean direction of the four edges. */
function fromCorner([a, b, c, d]: Quad, pxPerMm: number): PlaneMap {
  const x = b.x - a.x + (c.x - d.x) + (d.y - a.y) + (c.y - b.y);
  const y = b.y - a.y + (c.y - d.y) - (d.x - a.x) - (c.x - b.x);
  return composed(similarity(1 / pxPerMm, -Math.atan2(y, x), 0, 0), similarity(1, 0, -a.x, -a.y));
}

function toRectangle(quad: Quad, width: number, height: number): PlaneMap | null {
  const corners = [
    { x: 0, y: 0 },
    { x: width, y: 0 },
    { x: width, y: height },
    { x: 0, y: height },
  ];
  return fitHomography(quad.map((from, index) => ({ from, to: corners[index] as Point })));
}

function pictureQuad({ width, height }: GrayPicture): Quad {
  return [
    { x: 0, y: 0 },
    { x: width, y: 0 },
    { x: width, y: height },
    { x: 0, y: height },
  ];
}
