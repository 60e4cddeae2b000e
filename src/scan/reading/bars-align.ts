/**
 * Where each module of a Code 128 lies in a strip. The symbol is cut into pieces, of which each is looked
 * for by itself, by what is alike on all tags; then the pieces are joined into a chain whose modules widen
 * or narrow gradually, as they do at a slant or round a pot. A piece under mud says nothing and is bridged.
 */
import { type Probe, Sampler, tileColours } from './agreement.js';
import type { Plane } from './plane.js';
import { levelAt } from './plane.js';
import { flatPose, type Pose } from './pose.js';
import { type Fitted, refined } from './refine.js';
import { solveSymmetric } from './solve.js';

/** Pieces along the symbol, and bands of rows, each of which may be covered. */
const PIECES = 5;
const BANDS = 5;
/** Of the bands, which all show the same, so many count as if independent. */
const BANDS_COUNTED = 2;

/** Widths of a module that are tried, in pixels, each so many times the one before. */
const LEAST_MODULE_PX = 1.3;
const MOST_MODULE_PX = 4.4;
const MODULE_STEP = 1.04;
const WIDTHS = 1 + Math.ceil(Math.log(MOST_MODULE_PX / LEAST_MODULE_PX) / Math.log(MODULE_STEP));
/** Places that are tried, a module. */
const PLACES = 3;
/** Neighbouring pieces' widths differ by so many steps at most, and what each step costs, squared. */
const MOST_CHANGE = 2;
const CHANGE_COST = 0.6;

const LEAST_VARIANCE = 4;
/** Pieces that vary less, against a whole band, show no bars. */
const LEAST_VARIANCE_SHARE = 0.05;
const LEAST_SCORE = 9;
const MOST_ALIGNED = 8;

/** Values of a strip's pose that a fit may change: only where it lies along the row. */
const ALONG: readonly number[] = [0, 2, 4, 6];
const ALONG_BENT: readonly number[] = [...ALONG, 8, 9];
const ALONG_LEANING: readonly number[] = [...ALONG_BENT, 12];

/** A blur in modules that suits most photos, for finding. */
const USUAL_BLUR = 0.45;

interface Piece {
  readonly first: number;
  readonly count: number;
}

const piecesOf = (modules: number): Piece[] =>
  Array.from({ length: PIECES }, (_, piece) => {
    const first = Math.round((piece * modules) / PIECES);
    return { first, count: Math.round(((piece + 1) * modules) / PIECES) - first };
  });

/**
 * Poses in a strip, in its own pixels, best first.
 * @param darkShare for each module, how likely it is dark
 */
export function align(strip: Plane, darkShare: Float64Array): Fitted[] {
  const colours = softColours(darkShare, USUAL_BLUR);
  const sampler = new Sampler(barProbe(darkShare, USUAL_BLUR));
  const bands = bandsOf(strip);
  const aligned = [false, true].flatMap((isTurned) =>
    chains(isTurned ? bands.map((band) => band.toReversed()) : bands, colours, piecesOf(colours.length)).map(
      (chain) => ({ chain, isTurned }),
    ),
  );
  return aligned
    .sort((a, b) => b.chain.score - a.chain.score)
    .slice(0, MOST_ALIGNED)
    .map(({ chain, isTurned }) => {
      const pose = poseOf(chain, colours.length, strip, isTurned);
      return refined(strip, sampler, refined(strip, sampler, pose, ALONG_BENT).pose, ALONG_LEANING);
    })
    .sort((a, b) => b.score - a.score);
}

/** Anew, by what the modules are now thought to be. */
export function realign(strip: Plane, darkShare: Float64Array, pose: Pose, blurModules: number): Fitted {
  return refined(strip, new Sampler(barProbe(darkShare, blurModules)), pose, ALONG_LEANING);
}

/** From -1, dark, to 1, as a lens shows the modules that blurs by `blurModules`. */
export function softColours(darkShare: Float64Array, blurModules: number): Float64Array {
  const reach = 3;
  const taps = Array.from({ length: 2 * reach + 1 }, (_, tap) =>
    Math.exp(-((tap - reach) ** 2) / (2 * (blurModules ** 2 + 0.04))),
  );
  const total = taps.reduce((sum, tap) => sum + tap, 0);
  return darkShare.map((_, module) =>
    taps.reduce((sum, tap, at) => sum + (tap / total) * (1 - 2 * (darkShare[module + at - reach] ?? 0)), 0),
  );
}

const ROWS_A_BAND = 2;

/** Every module in its middle, in rows of which five bands are compared each by itself. */
function barProbe(darkShare: Float64Array, blurModules: number): Probe {
  const colours = softColours(darkShare, blurModules);
  const pieces = piecesOf(colours.length);
  const rows = BANDS * ROWS_A_BAND;
  const points = Array.from({ length: rows * colours.length }, (_, at) => {
    const [row, module] = [Math.floor(at / colours.length), at % colours.length];
    return {
      u: (2 * (module + 0.5)) / colours.length - 1,
      v: (2 * (row + 0.5)) / rows - 1,
      colour: colours[module] as number,
      tile: Math.floor(row / ROWS_A_BAND) * PIECES + pieces.findLastIndex(({ first }) => module >= first),
    };
  });
  const colour = Float64Array.from(points, (point) => point.colour);
  const tile = Uint8Array.from(points, (point) => point.tile);
  return {
    u: Float64Array.from(points, ({ u }) => u),
    v: Float64Array.from(points, ({ v }) => v),
    colour,
    tile,
    pointsEach: rows / BANDS_COUNTED,
    tiles: tileColours(colour, tile),
  };
}

/** The mean level of each column, in bands of rows. */
function bandsOf({ data, width, height }: Plane): Float64Array[] {
  return Array.from({ length: BANDS }, (_, band) => {
    const [from, to] = [
      Math.floor((band * height) / BANDS),
      Math.max(Math.floor(((band + 1) * height) / BANDS), Math.floor((band * height) / BANDS) + 1),
    ];
    const sums = new Float64Array(width);
    for (let y = from; y < Math.min(height, to); y++) {
      for (let x = 0; x < width; x++) sums[x] = (sums[x] as number) + (data[y * width + x] as number);
    }
    return sums.map((sum) => sum / (to - from));
  });
}

interface Chain {
  readonly score: number;
  /** Middle of each piece, in pixels. */
  readonly middles: readonly number[];
  readonly scores: readonly number[];
}

/** For every width and place of the module, how well each piece agrees: `scores[piece][width][place]`. */
function pieceScores(
  bands: readonly Float64Array[],
  colours: Float64Array,
  pieces: readonly Piece[],
): Float32Array[][] {
  const scores: Float32Array[][] = pieces.map(() => []);
  const templates = pieces.map(({ first, count }) => {
    const own = colours.subarray(first, first + count);
    const mean = own.reduce((sum, colour) => sum + colour, 0) / count;
    const centred = own.map((colour) => colour - mean);
    const square = centred.reduce((sum, colour) => sum + colour * colour, 0) / count;
    return { centred, square, count };
  });
  const least = Math.max(4 * LEAST_VARIANCE, LEAST_VARIANCE_SHARE * Math.max(...bands.map(varianceOf)));
  for (let width = 0; width < WIDTHS; width++) {
    const step = (LEAST_MODULE_PX * MODULE_STEP ** width) / PLACES;
    const length = Math.floor(((bands[0] as Float64Array).length - 1) / step);
    const sampled = bands.map((band) => sampledAt(band, step, length));
    templates.forEach((template, piece) => {
      const of = new Float32Array(length);
      for (const band of sampled) addAgreement(of, band, template, least);
      (scores[piece] as Float32Array[]).push(of);
    });
  }
  return scores;
}

interface Template {
  /** Colours of a piece's modules less their mean, and the mean square of that. */
  readonly centred: Float64Array;
  readonly square: number;
  readonly count: number;
}

interface SampledBand {
  readonly length: number;
  /** Levels `PLACES` a module, and running sums of them and their squares, a module apart; then `BEYOND` blank ones. */
  readonly levels: Float64Array;
  readonly sums: Float64Array;
  readonly squares: Float64Array;
}

/** Places are looked at three at a time, so that up to two are beyond the last. */
const BEYOND = 2;

/** Adds to each place, by the middle of the piece, how well a band agrees with a piece that lies there. */
function addAgreement(of: Float32Array, band: SampledBand, template: Template, least: number): void {
  const { length, levels, sums, squares } = band;
  const { centred, square, count } = template;
  const reach = PLACES * (count - 1);
  const places = length - reach;
  const varianceAt = (first: number): number => {
    const sum = (sums[first + reach + PLACES] as number) - (sums[first] as number);
    const all = (squares[first + reach + PLACES] as number) - (squares[first] as number);
    return all / count - (sum / count) ** 2 + LEAST_VARIANCE;
  };
  const add = (first: number, product: number, variance: number): void => {
    if (variance < least || product <= 0) return;
    const correlation = (product / count) ** 2 / (square * variance);
    const middle = first + (reach >> 1);
    of[middle] =
      (of[middle] as number) -
      ((BANDS_COUNTED / BANDS) * count * Math.log(1 - Math.min(0.98, correlation))) / 2;
  };
  // Three at a time: one sum alone waits for each of its additions.
  for (let first = 0; first < places; first += 3) {
    const variances = [varianceAt(first), varianceAt(first + 1), varianceAt(first + 2)] as const;
    if (Math.max(...variances) < least) continue;
    let [a, b, c] = [0, 0, 0];
    for (let module = 0, at = first; module < count; module++, at += PLACES) {
      const colour = centred[module] as number;
      a += colour * (levels[at] as number);
      b += colour * (levels[at + 1] as number);
      c += colour * (levels[at + 2] as number);
    }
    add(first, a, variances[0]);
    add(first + 1, b, variances[1]);
    add(first + 2, c, variances[2]);
  }
}

function varianceOf(band: Float64Array): number {
  const mean = band.reduce((sum, level) => sum + level, 0) / band.length;
  return band.reduce((sum, level) => sum + (level - mean) ** 2, 0) / band.length;
}

/** Levels every `step` pixels. */
function sampledAt(band: Float64Array, step: number, length: number): SampledBand {
  const levels = new Float64Array(length + BEYOND);
  const sums = new Float64Array(length + PLACES + BEYOND);
  const squares = new Float64Array(length + PLACES + BEYOND);
  for (let at = 0; at < length; at++) {
    const x = at * step;
    const left = Math.floor(x);
    const [a, b] = [band[left] as number, band[Math.min(band.length - 1, left + 1)] as number];
    const level = a + (x - left) * (b - a);
    levels[at] = level;
    sums[at + PLACES] = (sums[at] as number) + level;
    squares[at + PLACES] = (squares[at] as number) + level * level;
  }
  return { length, levels, sums, squares };
}

/** For each place, from the one before the first to the one after the last: where it or a neighbour scores most. */
function bestOfThree(scores: Float32Array): Int32Array {
  const best = new Int32Array(scores.length + 2);
  for (let index = 0; index < best.length; index++) {
    let most = Math.max(0, index - 2);
    for (let at = most + 1; at <= Math.min(scores.length - 1, index); at++) {
      if ((scores[at] as number) > (scores[most] as number)) most = at;
    }
    best[index] = most;
  }
  return best;
}

/** The best ways to join all pieces (Viterbi's algorithm), no two of them alike. */
function chains(bands: readonly Float64Array[], colours: Float64Array, pieces: readonly Piece[]): Chain[] {
  const scores = pieceScores(bands, colours, pieces);
  const widthPx = (width: number): number => LEAST_MODULE_PX * MODULE_STEP ** width;
  let best = scores[0] as Float32Array[];
  const cameFrom: Int32Array[][] = [];
  for (let piece = 1; piece < PIECES; piece++) {
    const half = ((pieces[piece - 1] as Piece).count + (pieces[piece] as Piece).count) / 4;
    const own = scores[piece] as Float32Array[];
    const neighbours = best.map(bestOfThree);
    const next: Float32Array[] = [];
    const from: Int32Array[] = [];
    for (let width = 0; width < WIDTHS; width++) {
      const score = new Float32Array((own[width] as Float32Array).length).fill(Number.NEGATIVE_INFINITY);
      const origin = new Int32Array(score.length).fill(-1);
      for (let change = -MOST_CHANGE; change <= MOST_CHANGE; change++) {
        const before = best[width + change];
        if (before === undefined) continue;
        const cost = CHANGE_COST * change * change;
        const ratio = widthPx(width) / widthPx(width + change);
        // From middle to middle, half of the way in modules of each width.
        const apart = PLACES * half * (1 + ratio);
        const nearest = neighbours[width + change] as Int32Array;
        for (let place = 0; place < score.length; place++) {
          const source = 1 + Math.round(place * ratio - apart);
          if (source < 0 || source >= nearest.length) continue;
          const at = nearest[source] as number;
          const value = (before[at] as number) - cost;
          if (value <= (score[place] as number)) continue;
          score[place] = value;
          origin[place] = (width + change) * 65536 + at;
        }
      }
      for (let place = 0; place < score.length; place++) {
        score[place] = (score[place] as number) + ((own[width] as Float32Array)[place] as number);
      }
      next.push(score);
      from.push(origin);
    }
    best = next;
    cameFrom.push(from);
  }
  const ends: { width: number; place: number; score: number }[] = [];
  best.forEach((of, width) => {
    of.forEach((score, place) => {
      if (score > LEAST_SCORE) ends.push({ width, place, score });
    });
  });
  ends.sort((a, b) => b.score - a.score);
  const kept: Chain[] = [];
  for (const end of ends.slice(0, 4000)) {
    if (kept.length === MOST_ALIGNED) break;
    let { width, place } = end;
    const states = [{ width, place }];
    for (let piece = PIECES - 2; piece >= 0; piece--) {
      const origin = ((cameFrom[piece] as Int32Array[])[width] as Int32Array)[place] as number;
      [width, place] = [origin >> 16, origin & 65535];
      states.unshift({ width, place });
    }
    const middles = states.map((state) => (state.place * widthPx(state.width)) / PLACES);
    const slack = widthPx(end.width);
    if (kept.some((other) => middles.every((x, at) => Math.abs(x - (other.middles[at] as number)) < slack)))
      continue;
    const own = states.map(
      (state, piece) =>
        ((scores[piece] as Float32Array[])[state.width] as Float32Array)[state.place] as number,
    );
    kept.push({ score: end.score, middles, scores: own });
  }
  return kept;
}

/** A smooth curve through the pieces' middles: x = a + b u + c (1 - u²). */
function poseOf({ middles, scores }: Chain, modules: number, strip: Plane, isTurned: boolean): Pose {
  const pieces = piecesOf(modules);
  const lower = new Float64Array(9);
  const right = new Float64Array(3);
  middles.forEach((x, piece) => {
    const { first, count } = pieces[piece] as Piece;
    // The scores stand at a place PLACES >> 1 short of the middle of an even number of modules.
    const u = (2 * (first + (Math.floor((PLACES * (count - 1)) / 2) / PLACES + 0.5))) / modules - 1;
    const row = [1, u, 1 - u * u];
    const weight = 1 + (scores[piece] as number);
    for (let a = 0; a < 3; a++) {
      right[a] = (right[a] as number) + weight * (row[a] as number) * x;
      for (let b = 0; b <= a; b++) {
        lower[3 * a + b] = (lower[3 * a + b] as number) + weight * (row[a] as number) * (row[b] as number);
      }
    }
  });
  const [a = 0, b = 0, c = 0] = solveSymmetric(lower, right, 0) ?? [];
  const turned = (x: number): number => (isTurned ? strip.width - 1 - x : x);
  const [from, to] = [turned(a - b), turned(a + b)];
  const [top, bottom] = isTurned ? [strip.height - 0.5, -0.5] : [-0.5, strip.height - 0.5];
  const pose = flatPose([
    { x: from, y: top },
    { x: to, y: top },
    { x: to, y: bottom },
    { x: from, y: bottom },
  ]);
  pose[9] = isTurned ? -c : c;
  return pose;
}

/** The strip's part of a picture, with bars upright. */
export function resampled(plane: Plane, xs: Float64Array, ys: Float64Array, width: number): Plane {
  const data = new Float32Array(xs.length);
  for (let at = 0; at < data.length; at++) data[at] = levelAt(plane, xs[at] as number, ys[at] as number);
  return { data, width, height: xs.length / width };
}
