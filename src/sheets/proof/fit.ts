/**
 * Scale, offset and skew of a print, from where its symbols are and where they were drawn, and the
 * options that make the next print true.
 *
 * A printer is taken to put a point P of the page at Q = s · P + o on the paper, turned a little about
 * the middle of the tags. `tags` draws the corner of a label that lies at C at P = c · C + n (its
 * --scale and --nudge). So the sheet is off by the scale s · c and the offset s · n + o, and with
 * c = 1 / s and n = -o / s the next one is true, whatever this one was printed with.
 */
import type { Calibration } from '../../ledger/model.js';
import { centroid, distance, fitSimilarity, mapPoint, median, type Pair, type Point } from './projective.js';

/** Within this the tags of a sheet count as in place, mm. */
export const TOLERANCE_MM = 0.5;

/** Scale and skew are measured only from so many symbols, at least so far apart (mm). */
const LEAST_SYMBOLS = 3;
const LEAST_SPAN_MM = 40;
/** Symbols off by more than this (mm), and more than the others, take no part: slipped or torn labels. */
const OUTLIER_MM = 0.3;

/** What the printer does to a page. */
export interface PrinterMap {
  /**
   * Null where too few symbols, too near to each other, were measured. The printer is then taken to be
   * the one that the sheet's own scale makes true.
   */
  readonly scale: number | null;
  readonly offsetMm: Point;
  /** Clockwise; no option of `tags` can correct it. */
  readonly rotationDeg: number | null;
  /** Root mean square of what is left, mm: how well the measure can be trusted. */
  readonly residualMm: number;
  readonly symbolCount: number;
  /** Where a point of the page comes to lie on the paper. */
  place(point: Point): Point;
}

/** @param pairs from mm on the printed page to mm on the paper */
export function fitPrinter(pairs: readonly Pair[], printedWith: Calibration): PrinterMap | null {
  if (pairs.length === 0) return null;
  const expected = expectedScale(printedWith);
  let map = startingMap(pairs, expected);
  for (let round = 0; round < 4; round++) {
    const off = offBy(map, pairs);
    const limit = Math.max(OUTLIER_MM, 4 * median(off));
    map = fitOnce(
      pairs.filter((_, index) => (off[index] ?? 0) <= limit),
      expected,
    );
  }
  return map;
}

/** Of a printer that was calibrated, which is what a sheet is given a scale for. */
const expectedScale = (printedWith: Calibration): number => 1 / printedWith.scale;

const offBy = ({ place }: Pick<PrinterMap, 'place'>, pairs: readonly Pair[]): number[] =>
  pairs.map(({ from, to }) => distance(place(from), to));

/** Of the maps that two symbols alone would give, the one with the least median: half may be wrong. */
function startingMap(pairs: readonly Pair[], expected: number): PrinterMap {
  let best = fitOnce(pairs, expected);
  if (best.scale === null) return best;
  let least = median(offBy(best, pairs));
  for (const apart of [Math.ceil(pairs.length / 2), Math.ceil(pairs.length / 3)]) {
    for (const [index, pair] of pairs.entries()) {
      const two = [pair, pairs[(index + apart) % pairs.length] ?? pair];
      const map = fitSimilarity(two);
      if (map === null) continue;
      const middle = median(offBy({ place: (point) => mapPoint(map, point) }, pairs));
      if (middle >= least) continue;
      least = middle;
      best = { ...best, place: (point) => mapPoint(map, point) };
    }
  }
  return best;
}

function fitOnce(pairs: readonly Pair[], expected: number): PrinterMap {
  const from = centroid(pairs.map((pair) => pair.from));
  const to = centroid(pairs.map((pair) => pair.to));
  const span = 2 * Math.max(...pairs.map((pair) => distance(pair.from, from)));
  const isEnough = pairs.length >= LEAST_SYMBOLS && span >= LEAST_SPAN_MM;
  const map = isEnough ? fitSimilarity(pairs) : null;
  const [cos, , , sin] = map ?? [expected, 0, 0, 0];
  const scale = Math.hypot(cos, sin);
  const place = (point: Point): Point =>
    map === null
      ? { x: to.x + scale * (point.x - from.x), y: to.y + scale * (point.y - from.y) }
      : mapPoint(map, point);
  const square = pairs.reduce((sum, pair) => sum + distance(place(pair.from), pair.to) ** 2, 0);
  return {
    scale: map === null ? null : scale,
    offsetMm: { x: to.x - scale * from.x, y: to.y - scale * from.y },
    rotationDeg: map === null ? null : (Math.atan2(sin, cos) * 180) / Math.PI,
    residualMm: Math.sqrt(square / pairs.length),
    symbolCount: pairs.length,
    place,
  };
}

/** How a sheet is off the labels: as `PrinterMap`, with what it was printed with taken into account. */
export function sheetError(
  printer: Pick<PrinterMap, 'scale' | 'offsetMm'>,
  printedWith: Calibration,
): { readonly scale: number | null; readonly offsetMm: Point } {
  const scale = printer.scale ?? expectedScale(printedWith);
  return {
    scale: printer.scale === null ? null : printer.scale * printedWith.scale,
    offsetMm: {
      x: scale * printedWith.nudgeMm.x + printer.offsetMm.x,
      y: scale * printedWith.nudgeMm.y + printer.offsetMm.y,
    },
  };
}

/** As far as `tags` takes them. */
const MOST_NUDGE_MM = 20;
const LEAST_SCALE = 0.9;
const MOST_SCALE = 1.1;

/**
 * The nudge and scale of the next print, all in all; null where they are beyond what `tags` takes or the
 * scale was not measured: an offset taken with a wrong scale would spoil a calibration.
 */
export function correctionFor({
  scale,
  offsetMm,
}: Pick<PrinterMap, 'scale' | 'offsetMm'>): Calibration | null {
  if (scale === null) return null;
  const nudgeMm = { x: rounded(-offsetMm.x / scale, 2), y: rounded(-offsetMm.y / scale, 2) };
  const next = rounded(1 / scale, 4);
  const isPossible =
    Math.max(Math.abs(nudgeMm.x), Math.abs(nudgeMm.y)) <= MOST_NUDGE_MM &&
    next >= LEAST_SCALE &&
    next <= MOST_SCALE;
  return isPossible ? { nudgeMm, scale: next } : null;
}

export function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits)) + 0;
}
