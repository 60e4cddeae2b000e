/**
 * Lays a printed symbol, as the kept page draws it, over its picture until the two fit best (Lucas and
 * Kanade, 1981, with brightness and contrast left free): its place to a small part of a pixel, and how
 * it is stretched. Hundreds of module edges take part, so noise and blur hardly move the result.
 */
import type { GrayPicture } from '../../scan/picture.js';
import type { Box } from '../geometry.js';
import type { PagePicture } from './pdf-pages.js';
import { composed, inverted, mapPoint, NormalEquations, type PlaneMap, type Point } from './projective.js';
import type { PrintedSymbol } from './reference.js';
import { isInside, levelAt } from './sampling.js';

/**
 * Where a symbol is: a point `u` of the page (mm) is seen where the pose has
 * `u + shift + stretch · (u - centre)`.
 */
export interface Registration {
  readonly centre: Point;
  readonly shift: Point;
  /** Row by row. */
  readonly stretch: readonly [number, number, number, number];
  /** Correlation of picture and print, 1 at best. */
  readonly fit: number;
}

/** The point of the picture at which a point of the page is seen. */
export function seenAt(toPicture: PlaneMap, place: Registration, { x, y }: Point): Point {
  const { centre } = place;
  return mapPoint(toPicture, mapPoint(fromCentre(place), { x: x - centre.x, y: y - centre.y }));
}

/** From a point of the page, counted from the symbol's centre, to where the pose has it. */
function fromCentre({ centre, shift, stretch: [a, b, c, d] }: Registration): PlaneMap {
  return [1 + a, b, centre.x + shift.x, c, 1 + d, centre.y + shift.y, 0, 0, 1];
}

/** Samples are so far apart; bars go on alike along their length, and want fewer there. */
const STEP_MODULES = 0.4;
const MOST_STEP_MM = 0.2;
const ALONG_BARS_MM = 0.2;
/** For a first look. */
const ALONG_BARS_COARSE_MM = 0.3;
/** Places tried in the first look are so far apart: along the modules in modules, along bars in mm. */
const TRY_MODULES = 0.5;
const TRY_BARS_MM = 0.18;
/** Around the symbol, so that its outer edges and the frame take part. */
const AROUND_MODULES = 5.5;
/** First the shift alone is sought, then the stretch with it; each until it hardly moves. */
const UNKNOWNS = [2, 6] as const;
const MOST_ROUNDS = 30;
const STILL_MM = 0.0005;

/**
 * Registers a symbol; null where less than half of it is in the picture or nothing fits.
 * @param pose from the picture to the page's mm
 * @param start how far from its printed place it was found, mm in the pose
 * @param searchMm how far from there it may yet be, along the page's axes
 */
export function register(
  picture: GrayPicture,
  page: PagePicture,
  pose: PlaneMap,
  symbol: PrintedSymbol,
  start: Point,
  searchMm: Point,
): Registration | null {
  const box = grown(symbol.boxMm, AROUND_MODULES * symbol.moduleMm);
  const toPicture = inverted(pose);
  const patch = makePatch(page, box, symbol.moduleMm, stepOf(symbol, ALONG_BARS_MM));
  const look = lookThrough(picture, toPicture, patch);
  const { x, y } = coarse(picture, page, toPicture, symbol, box, start, searchMm);
  let parameters: number[] | null = [x, y, 0, 0, 0, 0];
  for (const unknowns of UNKNOWNS) {
    parameters = parameters && settled(look, patch, parameters, unknowns, symbol.moduleMm);
  }
  const seen = parameters && look(parameters);
  return parameters && seen && registration(patch, parameters, correlation(patch, seen));
}

/** A symbol that is seen exactly where it was printed. */
export function inPlace({ boxMm: { x, y, width, height } }: PrintedSymbol): Registration {
  const centre = { x: x + width / 2, y: y + height / 2 };
  return { centre, shift: { x: 0, y: 0 }, stretch: [0, 0, 0, 0], fit: 1 };
}

/** How far a part of a registered symbol lies from where the whole has it, mm; null where nothing fits. */
export function blockOffset(
  picture: GrayPicture,
  page: PagePicture,
  pose: PlaneMap,
  whole: Registration,
  block: Box,
  moduleMm: number,
): number | null {
  const step = stepMm(moduleMm);
  const patch = makePatch(page, block, moduleMm, { x: step, y: step });
  const [dx, dy] = [patch.centre.x - whole.centre.x, patch.centre.y - whole.centre.y];
  const [a, b, c, d] = whole.stretch;
  const expected = [whole.shift.x + a * dx + b * dy, whole.shift.y + c * dx + d * dy, a, b, c, d];
  const look = lookThrough(picture, inverted(pose), patch);
  const found = settled(look, patch, expected, 2, moduleMm);
  return found && Math.hypot((found[0] ?? 0) - (expected[0] ?? 0), (found[1] ?? 0) - (expected[1] ?? 0));
}

/** The picture's levels at a patch's points, for parameters of shift and stretch; null out of the picture. */
type Look = (parameters: readonly number[]) => Float64Array | null;

function lookThrough(picture: GrayPicture, toPicture: PlaneMap, patch: Patch): Look {
  return (parameters) => {
    const [a, b, c, d, e, f, g, h, i] = composed(toPicture, fromCentre(registration(patch, parameters, 0)));
    const seen = new Float64Array(patch.count);
    let outside = 0;
    for (let at = 0; at < patch.count; at++) {
      const [dx, dy] = [patch.dx[at] ?? 0, patch.dy[at] ?? 0];
      const w = g * dx + h * dy + i;
      const [x, y] = [(a * dx + b * dy + c) / w, (d * dx + e * dy + f) / w];
      if (!isInside(picture, x, y)) outside++;
      seen[at] = levelAt(picture, x, y);
    }
    return outside > patch.count / 2 ? null : seen;
  };
}

function registration({ centre }: Patch, parameters: readonly number[], fit: number): Registration {
  const [x = 0, y = 0, a = 0, b = 0, c = 0, d = 0] = parameters;
  return { centre, shift: { x, y }, stretch: [a, b, c, d], fit };
}

/** Steps, none longer than a module, until they are small; null where there is nothing to go by. */
function settled(
  look: Look,
  patch: Patch,
  start: readonly number[],
  unknowns: 2 | 6,
  moduleMm: number,
): number[] | null {
  let parameters = [...start];
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const seen = look(parameters);
    const step = seen && improvement(patch, seen, unknowns);
    if (step === null) return null;
    parameters = parameters.map(
      (value, at) => value - Math.max(-moduleMm, Math.min(moduleMm, step[at] ?? 0)),
    );
    if (Math.hypot(step[0] ?? 0, step[1] ?? 0) < STILL_MM) break;
  }
  return parameters;
}

/** What the kept page shows around a symbol: levels and their slopes per mm, at points from the centre. */
interface Patch {
  readonly centre: Point;
  readonly count: number;
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly level: Float64Array;
  readonly slopeX: Float64Array;
  readonly slopeY: Float64Array;
}

function makePatch(page: PagePicture, box: Box, moduleMm: number, apartMm: Point): Patch {
  const pxPerMmX = page.width / page.widthMm;
  const pxPerMmY = page.height / page.heightMm;
  const columns = Math.max(8, Math.round(box.width / apartMm.x));
  const rows = Math.max(8, Math.round(box.height / apartMm.y));
  const count = columns * rows;
  const patch = {
    centre: { x: box.x + box.width / 2, y: box.y + box.height / 2 },
    count,
    dx: new Float64Array(count),
    dy: new Float64Array(count),
    level: new Float64Array(count),
    slopeX: new Float64Array(count),
    slopeY: new Float64Array(count),
  };
  // Softened over a quarter of a module, so that an edge is felt from some way off.
  const at = (x: number, y: number) => levelAt(page, x * pxPerMmX, y * pxPerMmY);
  const near = Math.max(1 / pxPerMmX, moduleMm / 4);
  for (let row = 0, index = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, index++) {
      const x = box.x + ((column + 0.5) / columns) * box.width;
      const y = box.y + ((row + 0.5) / rows) * box.height;
      const [left, right, above, below] = [
        at(x - near, y),
        at(x + near, y),
        at(x, y - near),
        at(x, y + near),
      ];
      patch.dx[index] = x - patch.centre.x;
      patch.dy[index] = y - patch.centre.y;
      patch.level[index] = (2 * at(x, y) + left + right + above + below) / 6;
      patch.slopeX[index] = (right - left) / (2 * near);
      patch.slopeY[index] = (below - above) / (2 * near);
    }
  }
  return patch;
}

/** The best of the places around the start, first across the bars, then along them: where a bar ends. */
function coarse(
  picture: GrayPicture,
  page: PagePicture,
  toPicture: PlaneMap,
  symbol: PrintedSymbol,
  box: Box,
  start: Point,
  searchMm: Point,
): Point {
  if (searchMm.x === 0 && searchMm.y === 0) return start;
  const patch = makePatch(page, box, symbol.moduleMm, stepOf(symbol, ALONG_BARS_COARSE_MM));
  const look = lookThrough(picture, toPicture, patch);
  const best = (places: readonly Point[]): Point => {
    const fits = places.map(({ x, y }) => {
      const seen = look([x, y]);
      return seen === null ? -1 : correlation(patch, seen);
    });
    return places[fits.indexOf(Math.max(...fits))] ?? start;
  };
  const alongX = (from: Point, step: number) =>
    around(searchMm.x, step).map((off) => ({ x: from.x + off, y: from.y }));
  const alongY = (from: Point, step: number) =>
    around(searchMm.y, step).map((off) => ({ x: from.x, y: from.y + off }));
  const apart = TRY_MODULES * symbol.moduleMm;
  return isUpright(symbol)
    ? best(alongX(best(alongY(start, apart)), TRY_BARS_MM))
    : best(alongY(best(alongX(start, apart)), TRY_BARS_MM));
}

/** Its bars lie level: it is read from top to bottom, or from bottom to top. */
export function isUpright({ turn }: PrintedSymbol): boolean {
  return turn === 90 || turn === 270;
}

/** From `-reach` to `reach`, evenly, at most `step` apart. */
function around(reach: number, step: number): number[] {
  const count = Math.ceil(reach / step);
  return Array.from({ length: 2 * count + 1 }, (_, index) => (count === 0 ? 0 : (index / count - 1) * reach));
}

const stepMm = (moduleMm: number): number => Math.min(STEP_MODULES * moduleMm, MOST_STEP_MM);

function stepOf(symbol: PrintedSymbol, alongBarsMm: number): Point {
  const step = stepMm(symbol.moduleMm);
  if (symbol.kind === 'qr') return { x: step, y: step };
  return isUpright(symbol) ? { x: alongBarsMm, y: step } : { x: step, y: alongBarsMm };
}

/** One Gauss-Newton step; null where the picture is flat. */
function improvement(patch: Patch, seen: Float64Array, unknowns: 2 | 6): number[] | null {
  const { gain, offset } = brightness(patch, seen);
  if (!(gain > 0.02)) return null;
  const equations = new NormalEquations(unknowns);
  const row = new Float64Array(unknowns);
  for (let at = 0; at < patch.count; at++) {
    const [gx, gy] = [patch.slopeX[at] ?? 0, patch.slopeY[at] ?? 0];
    if (gx === 0 && gy === 0) continue;
    row[0] = gx;
    row[1] = gy;
    if (unknowns === 6) {
      const [dx, dy] = [patch.dx[at] ?? 0, patch.dy[at] ?? 0];
      row[2] = gx * dx;
      row[3] = gx * dy;
      row[4] = gy * dx;
      row[5] = gy * dy;
    }
    equations.add(row, ((seen[at] ?? 0) - offset) / gain - (patch.level[at] ?? 0));
  }
  return equations.solve();
}

/** The gain and offset by which the picture's levels follow the print's. */
function brightness(patch: Patch, seen: Float64Array): { gain: number; offset: number } {
  const { meanPrint, meanSeen, covariance, variancePrint } = moments(patch, seen);
  const gain = variancePrint > 0 ? covariance / variancePrint : 0;
  return { gain, offset: meanSeen - gain * meanPrint };
}

function correlation(patch: Patch, seen: Float64Array): number {
  const { covariance, variancePrint, varianceSeen } = moments(patch, seen);
  const scale = Math.sqrt(variancePrint * varianceSeen);
  return scale > 0 ? covariance / scale : 0;
}

function moments(patch: Patch, seen: Float64Array) {
  let [print, picture, printSquare, pictureSquare, product] = [0, 0, 0, 0, 0];
  for (let at = 0; at < patch.count; at++) {
    const [p, s] = [patch.level[at] ?? 0, seen[at] ?? 0];
    print += p;
    picture += s;
    printSquare += p * p;
    pictureSquare += s * s;
    product += p * s;
  }
  const meanPrint = print / patch.count;
  const meanSeen = picture / patch.count;
  return {
    meanPrint,
    meanSeen,
    covariance: product / patch.count - meanPrint * meanSeen,
    variancePrint: printSquare / patch.count - meanPrint * meanPrint,
    varianceSeen: pictureSquare / patch.count - meanSeen * meanSeen,
  };
}

function grown({ x, y, width, height }: Box, by: number): Box {
  return { x: x - by, y: y - by, width: width + 2 * by, height: height + 2 * by };
}
