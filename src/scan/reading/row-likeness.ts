/** How much a row of samples looks like this character or that, wherever in it one may begin. */
import type { Glyph } from './glyphs.js';
import { Lattice } from './lattice.js';

/** What a place's levels vary by, whatever stands there: grey levels squared, and a share of the contrast. */
const LEAST_VARIANCE = 6;
const LEAST_SPREAD = 0.12;

/** `rows` of a strip of levels, `columns` samples each, from row `down` on; `contrast` of paper and ink in levels. */
export class RowLikeness {
  /** Sums over the first columns, for means and variances at once. */
  readonly #sums: Float64Array;
  readonly #squares: Float64Array;

  constructor(
    readonly strip: Float32Array,
    readonly columns: number,
    readonly down: number,
    readonly rows: number,
    readonly contrast: number,
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
  of(glyph: Glyph, from: number): number {
    const { strip, columns, down } = this;
    const { width, rows, centred } = glyph;
    let product = 0;
    for (let row = 0, at = 0; row < rows; row++) {
      let to = (row + down) * columns + from;
      for (let column = 0; column < width; column++, at++, to++) {
        product += (strip[to] as number) * (centred[at] as number);
      }
    }
    return this.#ratio(from, glyph, product);
  }

  /** `of` every character at every column. */
  ofAll(glyphs: readonly Glyph[]): Lattice {
    const scores = new Float32Array(this.columns * glyphs.length);
    glyphs.forEach((glyph, value) => {
      const places = this.columns - glyph.width + 1;
      // The last four may overlap those before.
      for (let next = 0; next < places; next += 4) {
        const from = Math.min(next, places - 4);
        this.#ofFour(glyph, from).forEach((likeness, after) => {
          scores[(from + after) * glyphs.length + value] = likeness;
        });
      }
    });
    return new Lattice(scores, this.columns, glyphs);
  }

  /** `of` a character from a column and the three after it: one sum alone waits for each of its additions. */
  #ofFour(glyph: Glyph, from: number): [number, number, number, number] {
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
    return [
      this.#ratio(from, glyph, a),
      this.#ratio(from + 1, glyph, b),
      this.#ratio(from + 2, glyph, c),
      this.#ratio(from + 3, glyph, d),
    ];
  }

  #ratio(from: number, { width, rows, variance }: Glyph, product: number): number {
    if (product >= 0) return 0;
    const count = rows * width;
    const mean = ((this.#sums[from + width] as number) - (this.#sums[from] as number)) / count;
    const square = ((this.#squares[from + width] as number) - (this.#squares[from] as number)) / count;
    const spread = square - mean * mean + LEAST_VARIANCE + (LEAST_SPREAD * this.contrast) ** 2;
    return (-count / 2) * Math.log(1 - (product / count) ** 2 / (spread * variance));
  }
}
