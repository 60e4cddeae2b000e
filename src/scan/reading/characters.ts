/**
 * What a printed ID says, as evidence: how likely the picture of its row would be, were this text or that
 * printed there. What lies on the row (mud, glare) speaks for no text and against none.
 */
import { ALPHABET, symbolValue } from '../../ids/alphabet.js';
import { type Glyph, glyphSetOf, ISSUE_SPACE, ROWS, SHAPE_ROWS } from './glyphs.js';
import { Lattice, START_STEP } from './lattice.js';
import { logAdd } from './numbers.js';
import { coverOf } from './row-cover.js';
import { type IdRow, type RowStrips, START_CAPS } from './row-strips.js';

/**
 * Log-likelihoods count from blank paper. Neighbouring samples err together (blur, a row a little off), so
 * that each counts for less than one: measured, see tests/bench.
 */
const TRUST = 0.05;
/** Share of bare samples that look like anything at all, and the range that those are spread over. */
const ODD_SHARE = 0.03;
const RANGE = 1.6;
/** Standard deviation of bare samples: what is usual, and the least. */
const USUAL_SPREAD = 0.15;
const LEAST_SPREAD = 0.09;
/** Ink takes up about this share of a row, whatever is printed there. */
const INK_SHARE = 0.3;
/** Least share of variance that characters explain in the row for it to be one. */
const LEAST_EXPLAINED = 0.35;
/** Shades of ink that likelihoods are tabled for. */
const SHADES = 16;
/** Issues of tags in use: most are the first. */
const FIRST_ISSUE_SHARE = 0.8;
const LATER_ISSUES = 8;

/** Prior of an issue among tags that could be printed. */
export const issueShare = (issue: number): number =>
  issue === 1 ? FIRST_ISSUE_SHARE : issue <= LATER_ISSUES + 1 ? (1 - FIRST_ISSUE_SHARE) / LATER_ISSUES : 0;

/** In so many rows of characters what is seen has nothing to do with the ID, for want of a better model. */
const MISREAD_SHARE = 0.02;

/** The row as it is seen, for showing why. */
export interface SeenRow {
  readonly columns: number;
  /** Grey levels, and how likely each sample is covered: `ROWS` rows. */
  readonly gray: Float32Array;
  readonly covered: Float32Array;
}

/** A character of an ID held against the row. */
export interface HeldCharacter {
  readonly glyph: Glyph;
  /** Where it begins, in columns. */
  readonly at: number;
  /** How much likelier what is seen there is of it than of any other character, as a logarithm. */
  readonly weight: number;
}

export class Characters {
  readonly row: IdRow;
  readonly seen: SeenRow;
  /** Log-likelihoods of each character beginning at each column. */
  readonly #id: Lattice;
  readonly #issue: Lattice;
  readonly #idAdvances: readonly number[];
  readonly #issueAdvances: readonly number[];
  readonly #length: number;
  /** Log-likelihood of the row holding no text, or a text drawn by lot. */
  readonly ofAnything: number;

  /** @param noText log-likelihood of ink and paper in no order */
  constructor(row: IdRow, seen: SeenRow, id: Lattice, issue: Lattice, noText: number) {
    const glyphs = glyphSetOf(row.sigma);
    this.row = row;
    this.seen = seen;
    this.#id = id;
    this.#issue = issue;
    this.#idAdvances = glyphs.id.map(({ advance }) => advance);
    this.#issueAdvances = glyphs.issue.map(({ advance }) => advance);
    this.#length = row.values.length;
    this.ofAnything = logAdd(noText, this.#ofRandomText()) - Math.LN2;
  }

  /** Log-likelihood, were it the row of this tag text: of as many characters as the ledger's have. */
  of(text: string): number {
    const best = this.#from(this.#startOf(text), text);
    return logAdd(Math.log(1 - MISREAD_SHARE) + best, Math.log(MISREAD_SHARE) + this.ofAnything);
  }

  /** The characters of a tag text's ID, each with what it adds to or takes from it. */
  held(text: string): HeldCharacter[] {
    let at = this.#startOf(text);
    return Array.from({ length: this.#length }, (_, index) => {
      const value = VALUES[text.charCodeAt(index)] as number;
      const all = this.#idAdvances.map((_, other) => this.#id.at(at, other));
      const mean = all.reduce(logAdd) - Math.log(all.length);
      const glyph = glyphSetOf(SHARPEST).id[value] as Glyph;
      const character = { glyph, at: Math.round(at), weight: (all[value] as number) - mean };
      at += glyph.advance;
      return character;
    });
  }

  /** Where a tag text fits best. */
  #startOf(text: string): number {
    let [best, most] = [0, Number.NEGATIVE_INFINITY];
    for (let start = 0; start <= 2 * BEFORE; start += START_STEP) {
      const score = this.#from(start, text);
      if (score > most) [best, most] = [start, score];
    }
    return best;
  }

  #from(start: number, text: string): number {
    let [at, sum] = [start, 0];
    for (let index = 0; index < this.#length; index++) {
      const value = VALUES[text.charCodeAt(index)] as number;
      sum += this.#id.at(at, value);
      at += this.#idAdvances[value] as number;
    }
    at += ISSUE_SPACE;
    for (let index = this.#length; index < text.length; index++) {
      // In the order of the issue's characters the dot comes first, then 0.
      const glyph = Math.max(0, text.charCodeAt(index) - ZERO + 1);
      sum += this.#issue.at(at, glyph);
      at += this.#issueAdvances[glyph] as number;
    }
    return sum;
  }

  /** The first few issues of the sound IDs that the row looks most like, of any ledger. */
  likeliest(most: number): string[] {
    return this.#id
      .likeliestSound(2 * BEFORE + 1, this.#length, most)
      .map(({ values }) => values.map((value) => ALPHABET[value]).join(''))
      .flatMap((id) => [1, 2, 3].map((issue) => `${id}.${issue}`));
  }

  /** The mean likelihood over all texts of this length, sound or not, as a logarithm. */
  #ofRandomText(): number {
    const columns = this.#id.columns;
    let logs = new Float64Array(columns).fill(Number.NEGATIVE_INFINITY);
    logs.fill(-Math.log(2 * BEFORE + 1), 0, 2 * BEFORE + 1);
    for (let index = 0; index < this.#length; index++) {
      const next = new Float64Array(columns).fill(Number.NEGATIVE_INFINITY);
      logs.forEach((log, column) => {
        if (log === Number.NEGATIVE_INFINITY) return;
        this.#idAdvances.forEach((advance, value) => {
          const to = Math.min(columns - 1, Math.round(column + advance));
          const sum = log + this.#id.at(column, value) - Math.log(this.#idAdvances.length);
          next[to] = logAdd(next[to] as number, sum);
        });
      });
      logs = next;
    }
    let total = Number.NEGATIVE_INFINITY;
    logs.forEach((log, column) => {
      if (log === Number.NEGATIVE_INFINITY) return;
      const dot = column + ISSUE_SPACE;
      for (let digit = 1; digit <= 9; digit++) {
        const at = dot + (this.#issueAdvances[0] as number);
        const issue = this.#issue.at(dot, 0) + this.#issue.at(at, digit + 1) + Math.log(issueShare(digit));
        total = logAdd(total, log + issue);
      }
    });
    return total;
  }
}

const SHARPEST = 0.3;
/** Where the row is thought to begin, in columns. */
const BEFORE = START_CAPS * SHAPE_ROWS.cap;
const ZERO = '0'.charCodeAt(0);
const VALUES = Int8Array.from({ length: 128 }, (_, code) => symbolValue(String.fromCharCode(code)) ?? 0);

/** What the row says; null where too little of it is seen to tell. */
export function charactersOf(row: IdRow, strips: RowStrips): Characters | null {
  const light = lightAlong(row, strips);
  if (light === null) return null;
  const { columns, gray } = strips;
  const ink = gray.map((level, at) => {
    const column = at % columns;
    return ((light.paper[column] as number) - level) / (light.contrast[column] as number);
  });
  const covered = coverOf(ink, strips);
  const spread = spreadOf(row, ink, covered, columns);
  const scale = RANGE / (spread * Math.sqrt(2 * Math.PI));
  const tables = new Float32Array(ink.length * SHADES);
  let noText = 0;
  for (let at = 0; at < ink.length; at++) {
    const hidden = covered[at] as number;
    const likelihood = (shade: number): number => {
      const off = ((ink[at] as number) - shade) / spread;
      return hidden + (1 - hidden) * (ODD_SHARE + (1 - ODD_SHARE) * scale * Math.exp((-off * off) / 2));
    };
    const blank = likelihood(0);
    for (let shade = 0; shade < SHADES; shade++) {
      tables[at * SHADES + shade] = TRUST * Math.log(likelihood(shade / (SHADES - 1)) / blank);
    }
    noText += TRUST * Math.log(1 - INK_SHARE + (INK_SHARE * likelihood(1)) / blank);
  }
  const { id, issue } = glyphSetOf(row.sigma);
  return new Characters(
    row,
    { columns, gray, covered },
    tabled(tables, columns, id),
    tabled(tables, columns, issue),
    noText,
  );
}

function tabled(tables: Float32Array, columns: number, glyphs: readonly Glyph[]): Lattice {
  const shades = glyphs.map(({ ink }) => Uint8Array.from(ink, (share) => Math.round(share * (SHADES - 1))));
  const sums = new Float32Array(columns * glyphs.length);
  for (let from = 0; from < columns; from++) {
    for (let index = 0; index < glyphs.length; index++) {
      const { width } = glyphs[index] as Glyph;
      const shade = shades[index] as Uint8Array;
      const within = Math.min(width, columns - from);
      let sum = 0;
      for (let row = 0; row < ROWS; row++) {
        for (let column = 0, to = row * columns + from; column < within; column++, to++) {
          sum += tables[to * SHADES + (shade[row * width + column] as number)] as number;
        }
      }
      sums[from * glyphs.length + index] = sum;
    }
  }
  return new Lattice(lenient(sums, columns, glyphs.length), columns, glyphs);
}

/** A character may stand a sample to the left or right of its place. */
function lenient(sums: Float32Array, columns: number, size: number): Float32Array {
  return sums.map((sum, at) => {
    const column = Math.floor(at / size);
    const left = column > 0 ? (sums[at - size] as number) : sum;
    const right = column + 1 < columns ? (sums[at + size] as number) : sum;
    return Math.max(sum, left, right);
  });
}

interface LightAlong {
  /** Per column: grey level of paper, and how much darker ink is. */
  readonly paper: Float64Array;
  readonly contrast: Float64Array;
}

/** Reach of a character's light to the columns about it, in samples. */
const LIGHT_REACH = 1.2 * SHAPE_ROWS.cap;

/** Paper and ink as the characters show them that the row looks most like. */
function lightAlong(row: IdRow, { gray, columns }: RowStrips): LightAlong | null {
  const { id } = glyphSetOf(row.sigma);
  const seen: { middle: number; paper: number; contrast: number; weight: number }[] = [];
  let at = BEFORE;
  for (const value of row.values) {
    const glyph = id[value] as Glyph;
    const fit = lineFit(gray, columns, Math.round(at), glyph);
    if (fit.explained > LEAST_EXPLAINED) {
      seen.push({ middle: at + glyph.advance / 2, weight: fit.explained ** 4, ...fit });
    }
    at += glyph.advance;
  }
  if (seen.length < 2) return null;
  const paper = new Float64Array(columns);
  const contrast = new Float64Array(columns);
  for (let column = 0; column < columns; column++) {
    let total = 0;
    for (const { middle, weight, ...light } of seen) {
      const near = weight * (Math.exp(-(((column - middle) / LIGHT_REACH) ** 2) / 2) + 0.01);
      total += near;
      paper[column] = (paper[column] as number) + near * light.paper;
      contrast[column] = (contrast[column] as number) + near * light.contrast;
    }
    paper[column] = (paper[column] as number) / total;
    contrast[column] = Math.max(4, (contrast[column] as number) / total);
  }
  return { paper, contrast };
}

/** The least-squares line from ink to level over one character, and the share of variance it explains. */
function lineFit(
  gray: Float32Array,
  columns: number,
  from: number,
  { width, ink, centred, variance }: Glyph,
): { paper: number; contrast: number; explained: number } {
  let [sum, squares, product, inkSum] = [0, 0, 0, 0];
  for (let row = 0, at = 0; row < ROWS; row++) {
    for (let column = 0; column < width; column++, at++) {
      const level = gray[row * columns + Math.min(columns - 1, from + column)] as number;
      sum += level;
      squares += level * level;
      product += level * (centred[at] as number);
      inkSum += ink[at] as number;
    }
  }
  const count = ROWS * width;
  const slope = product / count / variance;
  const spread = squares / count - (sum / count) ** 2 + 1e-6;
  return {
    paper: sum / count - (slope * inkSum) / count,
    contrast: -slope,
    explained: slope < 0 ? (slope * slope * variance) / spread : 0,
  };
}

/** Standard deviation of what is bare about what the likeliest characters would be. */
function spreadOf(row: IdRow, ink: Float32Array, covered: Float32Array, columns: number): number {
  const { id } = glyphSetOf(row.sigma);
  const off: number[] = [];
  let at = BEFORE;
  for (const value of row.values) {
    const glyph = id[value] as Glyph;
    const from = Math.round(at);
    glyph.ink.forEach((share, index) => {
      const to = Math.floor(index / glyph.width) * columns + from + (index % glyph.width);
      if ((covered[to] as number) < 0.3) off.push(Math.abs((ink[to] as number) - share));
    });
    at += glyph.advance;
  }
  if (off.length === 0) return USUAL_SPREAD;
  off.sort((a, b) => a - b);
  // Of normal deviations 80 % are below 1.28 standard deviations.
  return Math.max(LEAST_SPREAD, (off[Math.floor(0.8 * off.length)] as number) / 1.28);
}
