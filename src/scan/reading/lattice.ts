/**
 * What stands in a row of characters of different widths: scores of every character at every column, and
 * the rows of characters that they add up to.
 */
import { CHECK_SYMBOLS, withCheckSymbols } from '../../ids/check-symbols.js';
import type { Glyph } from './glyphs.js';

/** A row of characters, as values; it begins at column `start`. */
export interface Path {
  readonly start: number;
  readonly values: readonly number[];
  readonly score: number;
}

/** Steps of the search for sound IDs: enough unless nothing is legible, and then nothing is lost. */
const MOST_STEPS = 6000;
/** Where a row may begin, every so many columns are tried. */
export const START_STEP = 2;

export class Lattice {
  /** Advances of the characters, in columns. */
  readonly #advances: readonly number[];

  /** @param scores column × characters + character */
  constructor(
    readonly scores: Float32Array,
    readonly columns: number,
    glyphs: readonly Glyph[],
  ) {
    this.#advances = glyphs.map(({ advance }) => advance);
  }

  at(column: number, value: number): number {
    return this.scores[
      Math.min(this.columns - 1, Math.round(column)) * this.#advances.length + value
    ] as number;
  }

  /** The best row that begins before column `starts`, whatever it says; each may stand a column off. */
  best(starts: number, characters: number): Path {
    const [size, columns] = [this.#advances.length, this.columns];
    const advances = this.#advances.map(Math.round);
    let best = new Float64Array(columns).fill(Number.NEGATIVE_INFINITY).fill(0, 0, Math.max(1, starts));
    const from: Int32Array[] = [];
    for (let character = 0; character < characters; character++) {
      const next = new Float64Array(columns).fill(Number.NEGATIVE_INFINITY);
      const how = new Int32Array(columns).fill(-1);
      for (let at = 0; at < columns; at++) {
        const before = best[at] as number;
        if (before === Number.NEGATIVE_INFINITY) continue;
        for (let value = 0; value < size; value++) {
          const score = before + (this.scores[at * size + value] as number);
          const end = at + (advances[value] as number);
          for (let to = end - 1; to <= end + 1; to++) {
            if (to >= columns || score <= (next[to] as number)) continue;
            next[to] = score;
            how[to] = at * size + value;
          }
        }
      }
      best = next;
      from.push(how);
    }
    let end = 0;
    for (let at = 1; at < columns; at++) if ((best[at] as number) > (best[end] as number)) end = at;
    const score = best[end] as number;
    if (score === Number.NEGATIVE_INFINITY)
      return { start: 0, values: new Array(characters).fill(0), score: 0 };
    const values: number[] = [];
    for (let character = characters - 1; character >= 0; character--) {
      const how = (from[character] as Int32Array)[end] as number;
      values.unshift(how % size);
      end = Math.floor(how / size);
    }
    return { start: end, values, score };
  }

  /** The sound IDs that a row beginning before column `starts` looks most like, each where it fits best. */
  likeliestSound(starts: number, characters: number, most: number): Path[] {
    const ahead = this.#bestAhead(characters);
    const best: Path[] = [];
    const budget = { steps: MOST_STEPS };
    const order = Array.from(
      { length: Math.ceil(Math.max(1, starts) / START_STEP) },
      (_, step) => step * START_STEP,
    );
    const promise = (start: number): number => (ahead[characters] as Float64Array)[start] as number;
    order.sort((a, b) => promise(b) - promise(a));
    for (const start of order) this.#search(start, [], start, 0, characters, ahead, best, most, budget);
    return best;
  }

  /** Depth first, the best character first, and only where what is ahead can still be better than what is found. */
  #search(
    start: number,
    values: number[],
    at: number,
    score: number,
    characters: number,
    ahead: readonly Float64Array[],
    best: Path[],
    most: number,
    budget: { steps: number },
  ): void {
    const left = characters - values.length;
    if (left === CHECK_SYMBOLS) {
      const whole = withCheckSymbols(values);
      let [end, sum] = [at, score];
      for (const value of whole.slice(values.length)) {
        sum += this.at(end, value);
        end += this.#advances[value] as number;
      }
      enter(best, { start, values: whole, score: sum }, most);
      return;
    }
    const bound = (value: number): number => {
      const next = Math.min(this.columns - 1, Math.round(at + (this.#advances[value] as number)));
      return score + this.at(at, value) + ((ahead[left - 1] as Float64Array)[next] as number);
    };
    const order = [...this.#advances.keys()].sort((a, b) => bound(b) - bound(a));
    for (const value of order) {
      const least = best.length < most ? Number.NEGATIVE_INFINITY : (best[most - 1] as Path).score;
      if (bound(value) <= least || budget.steps-- <= 0) return;
      values.push(value);
      const next = at + (this.#advances[value] as number);
      this.#search(start, values, next, score + this.at(at, value), characters, ahead, best, most, budget);
      values.pop();
    }
  }

  /** For 0, 1, 2 … characters still to come, the most that they can score from each column on. */
  #bestAhead(characters: number): Float64Array[] {
    const ahead = [new Float64Array(this.columns)];
    for (let left = 1; left <= characters; left++) {
      const after = ahead[left - 1] as Float64Array;
      ahead.push(
        Float64Array.from(after, (_, column) => {
          let most = Number.NEGATIVE_INFINITY;
          this.#advances.forEach((advance, value) => {
            // Rounding may shift a character by a column.
            const next = Math.min(this.columns - 1, Math.round(column + advance));
            const beyond = Math.max(
              after[next] as number,
              after[Math.max(0, next - 1)] as number,
              after[Math.min(this.columns - 1, next + 1)] as number,
            );
            most = Math.max(most, this.at(column, value) + beyond);
          });
          return most;
        }),
      );
    }
    return ahead;
  }
}

/** Puts a path among the best, of each word only the best. */
function enter(best: Path[], path: Path, most: number): void {
  const word = path.values.join();
  const before = best.findIndex(({ values }) => values.join() === word);
  if (before >= 0) {
    if ((best[before] as Path).score >= path.score) return;
    best.splice(before, 1);
  }
  best.push(path);
  best.sort((a, b) => b.score - a.score).splice(most);
}
