/**
 * Finds the large printed ID of a tag whose symbol is squared up. It stands right of the frame, level with
 * its upper edge, or under it in the middle (`sheets/arrange-qr.ts`); how far off and how large differs from
 * stock to stock, so that a row of any five characters is looked for, whatever they say.
 */

import type { Pyramid } from './find.js';
import { type Glyph, glyphSet, glyphSetOf, ROWS, SHAPE_ROWS } from './glyphs.js';
import { Lattice } from './lattice.js';
import type { ColourPlanes, Plane } from './plane.js';
import type { Pose } from './pose.js';
import { moveAlong, type RowPlace, stripOf, View } from './row-strips.js';
import { GRID } from './tag-grid.js';

export interface IdRow {
  readonly place: RowPlace;
  /** Blur of the characters, in samples of `glyphs.ts`. */
  readonly sigma: number;
  /** The characters that it looks most like, as values. */
  readonly values: readonly number[];
  /** How much they look like it: log of a likelihood ratio, in samples. */
  readonly score: number;
}

/** Heights of capitals tried, in modules: those of IDs of five to seven characters on the shipped stocks. */
const CAPS = Array.from({ length: 18 }, (_, index) => 3.9 * 1.075 ** index);
/** Gap between frame and ID, in modules. */
const GAP = { least: 1.2, most: 4.6 };
/** Rows are looked for coarsely with half the samples, up to so many of these higher or lower. */
const SLACK = 2;
/** An ID of n characters is about this many times as long as high; with room for its issue and wide ones. */
const USUAL_LENGTH = (characters: number): number => 0.96 * characters + 0.7;
const MOST_LENGTH = (characters: number): number => 1.2 * characters;
/** What a row is longer for its issue. */
const ISSUE_CAPS = 1;
const MOST_ROWS = 2;
/** Characters half as large, for looking roughly. */
const COARSE = glyphSet(0.5, 2);
const MOST_ROUNDS = 3;
/** A row much less like characters than the best is none. */
const LEAST_OF_BEST = 0.6;
const SIGMAS = [0.6, 1, 1.6] as const;
/** Steps in which a row's place is fitted, in modules a capital's height: halved so often. */
const STEPS: RowPlace = [0.12, 0.12, 0.03, 0.03, 0.06, 0.05];
/** A row may begin so many capitals' heights earlier or later than it was first thought to. */
export const START_CAPS = 0.5;
/** Sound IDs that a row is held against. */
const SOUND_TRIED = 2;
/**
 * Mean score of a character, for its height squared, of a row that says anything: when it is found roughly, and
 * when it is fitted. Of some hundred rows seen from a wrong pose none had more than 0.25 and 0.31; of those that
 * were read rightly under mud none less than 0.3 and 0.6.
 */
const LEAST_SCORE = { rough: 0.25, fitted: 0.45 };
const HALVINGS = 3;
const LEAST_GAIN = 0.1;

/** @param contrast of paper and ink, in grey levels; @param characters of an ID */
export function findIdRow(levels: Pyramid, pose: Pose, contrast: number, characters: number): IdRow | null {
  const view = new View(levels, pose);
  const found: Rough[] = [];
  for (const cap of CAPS) {
    found.push(...roughRows(view, cap, contrast, characters));
  }
  let best: IdRow | null = null;
  for (const rough of distinct(found.filter((one) => isLegible(one, characters, LEAST_SCORE.rough)))) {
    const row = fitted(view, rough, contrast, characters, isPlausible);
    if (!isLegible(row, characters, LEAST_SCORE.fitted)) continue;
    if (best === null || row.score > best.score) best = row;
  }
  return best;
}

/** A row as it is found first. */
export interface Rough {
  readonly place: RowPlace;
  readonly values: readonly number[];
  readonly score: number;
}

export const isLegible = ({ score, place }: Rough, characters: number, least: number): boolean =>
  score > least * characters * place[2] ** 2;

function roughRows(view: View, cap: number, contrast: number, characters: number): Rough[] {
  const perCap = SHAPE_ROWS.cap / 2;
  const usual = USUAL_LENGTH(characters);
  const beside: RowPlace = [GRID + GAP.least, 0, cap, 0, 0, cap];
  const under = (gap: number): RowPlace => [GRID / 2 - (usual / 2 + 0.6) * cap, GRID + gap, cap, 0, 0, cap];
  const step = (2 * SLACK + 1) / perCap;
  const places: [RowPlace, number][] = [[beside, (GAP.most - GAP.least) / cap]];
  for (let gap = GAP.least + (SLACK * cap) / perCap; ; gap += step * cap) {
    places.push([under(gap), 1.2]);
    if (gap + (SLACK * cap) / perCap > GAP.most) break;
  }
  return places.flatMap(([place, startCaps]) => roughRowsAt(view, place, startCaps, contrast, characters));
}

/** The best rows that begin within `startCaps` heights from a place on, a little higher or lower. */
export function roughRowsAt(
  view: View,
  place: RowPlace,
  startCaps: number,
  contrast: number,
  characters: number,
): Rough[] {
  const perCap = SHAPE_ROWS.cap / 2;
  const cap = place[2];
  const columns = Math.ceil((startCaps + MOST_LENGTH(characters)) * perCap);
  const strip = view.strip(place, perCap, columns, 1 + SLACK, ROWS / 2 + 2 * SLACK);
  const rough: Rough[] = [];
  for (let down = 0; down <= 2 * SLACK; down++) {
    const window = new Window(strip, columns, down, ROWS / 2);
    const path = matches(window, COARSE.id, contrast).best(Math.ceil(startCaps * perCap), characters);
    const [x, y] = [place[0] + (path.start / perCap) * cap, place[1] + ((down - SLACK) / perCap) * cap];
    rough.push({
      place: [x, y, cap, 0, 0, cap],
      values: path.values,
      score: path.score * (cap / perCap) ** 2,
    });
  }
  return rough;
}

/** The best few rows that do not all lie in one place. */
export function distinct(rough: Rough[]): Rough[] {
  const kept: Rough[] = [];
  for (const one of rough.sort((a, b) => b.score - a.score)) {
    if (kept.length === MOST_ROWS || one.score < LEAST_OF_BEST * (kept[0]?.score ?? 0)) break;
    const isNew = kept.every(({ place }) => {
      const off = Math.abs(place[0] - one.place[0]) + Math.abs(place[1] - one.place[1]);
      return off > 0.5 * place[2] || Math.abs(Math.log(place[2] / one.place[2])) > 0.12;
    });
    if (isNew) kept.push(one);
  }
  return kept;
}

/** By turns where the row lies exactly, given what it says, and what it says, given where it lies. */
export function fitted(
  view: View,
  { place, values }: Rough,
  contrast: number,
  characters: number,
  isPossible: (place: RowPlace) => boolean,
): IdRow {
  let row: IdRow = { place, values, sigma: 1, score: 0 };
  for (let round = 1; ; round++) {
    row = { ...row, ...moved(view, row, contrast, isPossible) };
    const said = saidBy(view, row, contrast, characters);
    const isSame = said.sigma === row.sigma && said.values.join() === row.values.join();
    if (round === MOST_ROUNDS || isSame) break;
    row = { ...row, ...said };
  }
  return soundly(view, row, contrast, isPossible);
}

/** The characters that a row looks most like where it lies, and through which blur. */
function saidBy(
  view: View,
  { place }: IdRow,
  contrast: number,
  characters: number,
): { readonly sigma: number; readonly values: readonly number[] } {
  const columns = Math.ceil((MOST_LENGTH(characters) + 0.5) * SHAPE_ROWS.cap);
  const strip = view.strip(place, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
  const window = new Window(strip, columns, 0, ROWS);
  const ways = SIGMAS.map((sigma) => ({
    sigma,
    ...matches(window, glyphSetOf(sigma).id, contrast).best(1, characters),
  }));
  return ways.reduce((best, way) => (way.score > best.score ? way : best));
}

/**
 * Where a character is covered in part, another may look more like it, and pull the row out of place. So the
 * likeliest sound IDs, of whatever ledger, are tried in its stead.
 */
function soundly(view: View, row: IdRow, contrast: number, isPossible: (place: RowPlace) => boolean): IdRow {
  const characters = row.values.length;
  const before = START_CAPS * SHAPE_ROWS.cap;
  const columns = Math.ceil((MOST_LENGTH(characters) + 2 * START_CAPS) * SHAPE_ROWS.cap);
  const start = moveAlong(row.place, -START_CAPS);
  const strip = view.strip(start, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
  const lattice = matches(new Window(strip, columns, 0, ROWS), glyphSetOf(row.sigma).id, contrast);
  let best = row;
  for (const { values, start } of lattice.likeliestSound(2 * before, characters, SOUND_TRIED)) {
    if (values.join() === row.values.join()) return row;
    const place = moveAlong(row.place, start / SHAPE_ROWS.cap - START_CAPS);
    const sound = { ...row, values, ...moved(view, { ...row, place, values }, contrast, isPossible) };
    if (sound.score > best.score) best = sound;
  }
  return best;
}

/** Moves, scales and skews a row to where its characters fit best. */
function moved(
  view: View,
  row: IdRow,
  contrast: number,
  isPossible: (place: RowPlace) => boolean,
): { place: RowPlace; score: number } {
  const { id } = glyphSetOf(row.sigma);
  const scoreAt = (place: RowPlace): number =>
    isPossible(place) ? scoreOf(view, place, row.values, id, contrast) : 0;
  let place = row.place;
  let score = scoreAt(place);
  let share = 1;
  for (let halving = 0; halving <= HALVINGS; ) {
    let isBetter = false;
    for (let index = 0; index < 6; index++) {
      for (const sign of [1, -1]) {
        const step = sign * share * (STEPS[index] as number) * row.place[2];
        const trial = place.with(index, (place[index] as number) + step) as unknown as RowPlace;
        const trialScore = scoreAt(trial);
        if (trialScore <= score + LEAST_GAIN) continue;
        [place, score, isBetter] = [trial, trialScore, true];
        break;
      }
    }
    if (isBetter) continue;
    share /= 2;
    halving++;
  }
  return { place, score };
}

/** A pose is a little off beyond the symbol that it was fitted on, but not by more than this. */
function isPlausible([x, y, alongX, alongY, downX, downY]: RowPlace): boolean {
  const isBeside = x > GRID;
  const off = isBeside
    ? Math.max(GRID + GAP.least - 1 - x, x - GRID - GAP.most - 1)
    : GRID + GAP.least - 1 - y;
  return (
    off < 0 &&
    (isBeside ? Math.abs(y) < 3 : y < GRID + GAP.most + 1) &&
    isUpright([x, y, alongX, alongY, downX, downY])
  );
}

/** Neither turned nor skewed nor stretched by more than a pose or a line of pieces may be off. */
export function isUpright([, , alongX, alongY, downX, downY]: RowPlace): boolean {
  return (
    Math.abs(alongY) < 0.12 * alongX &&
    Math.abs(downX) < 0.15 * downY &&
    Math.abs(Math.log(downY / alongX)) < 0.15
  );
}

function scoreOf(
  view: View,
  place: RowPlace,
  values: readonly number[],
  glyphs: readonly Glyph[],
  contrast: number,
): number {
  const length = values.reduce((sum, value) => sum + (glyphs[value] as Glyph).advance, 0);
  const columns = Math.ceil(length) + 2;
  const strip = view.strip(place, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
  const window = new Window(strip, columns, 0, ROWS);
  let [at, score] = [0, 0];
  for (const value of values) {
    const glyph = glyphs[value] as Glyph;
    score += window.likeness(Math.round(at), glyph, contrast);
    at += glyph.advance;
  }
  // A larger row has more samples of the same picture, so that each says less.
  return score * (Math.hypot(place[2], place[3]) / SHAPE_ROWS.cap) ** 2;
}

const LEAST_VARIANCE = 6;
const LEAST_SPREAD = 0.12;

/** Levels of a strip's window of rows, with sums over its first columns, for means and variances at once. */
class Window {
  readonly #sums: Float64Array;
  readonly #squares: Float64Array;

  constructor(
    readonly strip: Float32Array,
    readonly columns: number,
    readonly down: number,
    readonly rows: number,
  ) {
    this.#sums = new Float64Array(columns + 1);
    this.#squares = new Float64Array(columns + 1);
    for (let column = 0; column < columns; column++) {
      let [sum, squares] = [0, 0];
      for (let row = down; row < down + rows; row++) {
        const level = strip[row * columns + column] as number;
        sum += level;
        squares += level * level;
      }
      this.#sums[column + 1] = (this.#sums[column] as number) + sum;
      this.#squares[column + 1] = (this.#squares[column] as number) + squares;
    }
  }

  /** Log-likelihood ratio of a character against no relation to it, in samples; 0 if what is dark is light. */
  likeness(from: number, glyph: Glyph, contrast: number): number {
    const { strip, columns, down } = this;
    const { width, rows, centred } = glyph;
    let product = 0;
    for (let row = 0, at = 0; row < rows; row++) {
      let to = (row + down) * columns + from;
      for (let column = 0; column < width; column++, at++, to++) {
        product += (strip[to] as number) * (centred[at] as number);
      }
    }
    return this.#likeness(from, glyph, product, contrast);
  }

  /** `likeness` from a column and the three after it: one sum alone waits for each of its additions. */
  likenessOfFour(
    from: number,
    glyph: Glyph,
    contrast: number,
    put: (column: number, likeness: number) => void,
  ) {
    const { strip, columns, down } = this;
    const { width, rows, centred } = glyph;
    let [a, b, c, d] = [0, 0, 0, 0];
    for (let row = 0, at = 0; row < rows; row++) {
      let to = (row + down) * columns + from;
      for (let column = 0; column < width; column++, at++, to++) {
        const share = centred[at] as number;
        a += (strip[to] as number) * share;
        b += (strip[to + 1] as number) * share;
        c += (strip[to + 2] as number) * share;
        d += (strip[to + 3] as number) * share;
      }
    }
    put(from, this.#likeness(from, glyph, a, contrast));
    put(from + 1, this.#likeness(from + 1, glyph, b, contrast));
    put(from + 2, this.#likeness(from + 2, glyph, c, contrast));
    put(from + 3, this.#likeness(from + 3, glyph, d, contrast));
  }

  #likeness(from: number, { width, rows, variance }: Glyph, product: number, contrast: number): number {
    if (product >= 0) return 0;
    const count = rows * width;
    const mean = ((this.#sums[from + width] as number) - (this.#sums[from] as number)) / count;
    const square = ((this.#squares[from + width] as number) - (this.#squares[from] as number)) / count;
    const spread = square - mean * mean + LEAST_VARIANCE + (LEAST_SPREAD * contrast) ** 2;
    return (-count / 2) * Math.log(1 - (product / count) ** 2 / (spread * variance));
  }
}

/** `likeness` of every character at every column. */
function matches(window: Window, glyphs: readonly Glyph[], contrast: number): Lattice {
  const scores = new Float32Array(window.columns * glyphs.length);
  glyphs.forEach((glyph, value) => {
    const put = (from: number, likeness: number): void => {
      scores[from * glyphs.length + value] = likeness;
    };
    const places = window.columns - glyph.width + 1;
    // The last four may overlap those before.
    for (let from = 0; from < places; from += 4) {
      window.likenessOfFour(Math.min(from, places - 4), glyph, contrast, put);
    }
  });
  return new Lattice(scores, window.columns, glyphs);
}

/** A row as it is seen, sample by sample: `columns` a row, `ROWS` rows. */
export interface RowStrips {
  readonly columns: number;
  readonly gray: Float32Array;
  /** Colours as in `ColourPlanes`; none of a grey picture. */
  readonly colours: readonly Float32Array[];
}

/** A found row with its issue (a dot and a digit or two), from `START_CAPS` before it on. */
export function stripsOf(
  levels: Pyramid,
  planes: ColourPlanes,
  pose: Pose,
  { place, values, sigma }: IdRow,
): RowStrips {
  const { id } = glyphSetOf(sigma);
  const length = values.reduce((sum, value) => sum + (id[value] as Glyph).advance, 0);
  const columns = Math.ceil(length + (ISSUE_CAPS + START_CAPS) * SHAPE_ROWS.cap);
  const start = moveAlong(place, -START_CAPS);
  const strip = (plane: Plane): Float32Array =>
    stripOf(plane, pose, start, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
  return {
    columns,
    gray: new View(levels, pose).strip(start, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS),
    colours: [planes.warm, planes.green].flatMap((plane) => (plane === null ? [] : [strip(plane)])),
  };
}
