/**
 * The Reed–Solomon code behind an ID: two check symbols over GF(32), generator roots 1 and α,
 * highest power first. With three data symbols it is a [5, 3] code of distance 3.
 *
 * A word c₀ … cₙ₋₁ is sound when Σ cᵢ = 0 and Σ cᵢ α^(n−1−i) = 0, the values of its polynomial at
 * 1 and at α. The roots 1, α (rather than α, α²) make the first sum 0 for any swap of two symbols, so
 * that a swap is never mistaken for one wrong symbol. They are fixed for ever: tags hang outside.
 */
import { divide, logOf, multiply, powerOfAlpha } from './gf32.js';

export const CHECK_SYMBOLS = 2;

/** Values at 1 and at α of the word read as a polynomial; both 0 in a sound word. */
interface Syndromes {
  readonly atOne: number;
  readonly atAlpha: number;
}

/** One symbol that differs: its place (from 0, left to right) and what it must be. */
export interface Correction {
  readonly index: number;
  readonly value: number;
}

function syndromes(word: readonly number[]): Syndromes {
  let atOne = 0;
  let atAlpha = 0;
  for (const value of word) {
    atOne ^= value;
    atAlpha = multiply(atAlpha, 2) ^ value; // Horner's rule, with α = 2.
  }
  return { atOne, atAlpha };
}

export function isSound(word: readonly number[]): boolean {
  const { atOne, atAlpha } = syndromes(word);
  return atOne === 0 && atAlpha === 0;
}

/** The data symbols followed by their two check symbols: what makes both sums 0. */
export function withCheckSymbols(data: readonly number[]): number[] {
  const { atOne, atAlpha } = syndromes([...data, 0, 0]);
  const first = divide(atOne ^ atAlpha, 1 ^ 2);
  return [...data, first, atOne ^ first];
}

/**
 * The one symbol that, corrected, makes an unsound word sound; undefined if there is none. Unique,
 * since the distance is 3. Two wrong symbols can look like one wrong elsewhere (9.7 % at length 5),
 * so a correction is something to offer, not to take.
 */
export function locateOneWrong(word: readonly number[]): Correction | undefined {
  const { atOne, atAlpha } = syndromes(word);
  if (atOne === 0 || atAlpha === 0) return undefined;
  const power = (logOf(atAlpha) - logOf(atOne) + 31) % 31;
  if (power >= word.length) return undefined;
  const index = word.length - 1 - power;
  return { index, value: (word[index] ?? 0) ^ atOne };
}

/**
 * Fills in up to two symbols that could not be read; `word` holds anything at those places.
 * Two are always filled, exactly; with one, a misread among the others shows, and with none the word
 * is returned if it is sound. Undefined when no filling is sound.
 */
export function fillErasures(word: readonly number[], erased: readonly number[]): number[] | undefined {
  if (erased.length > CHECK_SYMBOLS)
    throw new RangeError(`${erased.length} symbols cannot be filled in, only two`);
  const filled = word.map((value, index) => (erased.includes(index) ? 0 : value));
  const { atOne, atAlpha } = syndromes(filled);
  const [first, second] = erased;
  const powerAt = (index: number) => powerOfAlpha(word.length - 1 - index);
  if (first !== undefined && second !== undefined) {
    const secondValue = divide(atAlpha ^ multiply(atOne, powerAt(first)), powerAt(first) ^ powerAt(second));
    filled[first] = atOne ^ secondValue;
    filled[second] = secondValue;
  } else if (first !== undefined) {
    filled[first] = atOne;
  }
  return isSound(filled) ? filled : undefined;
}
