/**
 * A plant's ID as people see it: 5 to 7 characters of Crockford's alphabet, the last two of them
 * check symbols. `K7F` is the data, `K7FY5` the ID.
 */
import { ALPHABET, characterOf, ILLEGIBLE, symbolValue } from './alphabet.js';
import {
  CHECK_SYMBOLS,
  type Correction,
  fillErasures,
  isSound,
  locateOneWrong,
  withCheckSymbols,
} from './check-symbols.js';

declare const sound: unique symbol;

/** A sound ID in canonical characters. Made only here, so that holding one proves it was checked. */
export type PlantId = string & { readonly [sound]: true };

export const ID_LENGTHS = [5, 6, 7] as const;
export type IdLength = (typeof ID_LENGTHS)[number];

export function isIdLength(value: unknown): value is IdLength {
  return ID_LENGTHS.some((length) => length === value);
}

export const DEFAULT_ID_LENGTH: IdLength = 5;

/** What an ID of each length looks like, to show to people. */
export const EXAMPLE_IDS: Readonly<Record<IdLength, string>> = { 5: 'K7FY5', 6: 'K7FMVM', 7: 'K7FMB15' };

/** How an offered ID came about from what was read. Never a proof: the person confirms it. */
export type OfferReason =
  | 'one wrong character'
  | 'two neighbours swapped'
  | 'illegible characters filled in'
  | 'only the issue is illegible';

export interface Offer {
  readonly id: PlantId;
  readonly because: OfferReason;
}

/** The ID of a data value, 0 ≤ value < 32^(length − 2). */
export function idOf(value: number, length: IdLength): PlantId {
  const data = Array<number>(length - CHECK_SYMBOLS).fill(0);
  let rest = value;
  for (let index = data.length - 1; index >= 0; index--) {
    data[index] = rest % ALPHABET.length;
    rest = Math.floor(rest / ALPHABET.length);
  }
  if (rest !== 0 || value < 0) throw new RangeError(`${value} does not fit an ID of length ${length}`);
  return toId(withCheckSymbols(data));
}

/** The ID, if `text` (canonical characters) is a sound one of this length; else undefined. */
export function findSoundId(text: string, length: IdLength): PlantId | undefined {
  const word = toWord(text);
  return word?.length === length && isSound(word) ? (text as PlantId) : undefined;
}

/** Whether `text` has the shape of an ID of this length: right characters, some perhaps illegible. */
export function hasIdShape(text: string, length: IdLength): boolean {
  return text.length === length && [...text].every((c) => c === ILLEGIBLE || symbolValue(c) !== undefined);
}

/**
 * Sound IDs that `text` (of an ID's shape) may have been meant as: up to two illegible characters
 * filled in, one wrong character put right, two swapped neighbours swapped back. Empty for a sound
 * ID, and for three or more illegible characters, which leave too little to go by.
 */
export function offersFor(text: string): Offer[] {
  const erased = [...text].flatMap((character, index) => (character === ILLEGIBLE ? [index] : []));
  const word = [...text].map((character) => (character === ILLEGIBLE ? 0 : symbolValue(character)));
  if (!isComplete(word) || erased.length > CHECK_SYMBOLS) return [];
  if (erased.length > 0) {
    const filled = fillErasures(word, erased);
    return filled === undefined ? [] : [{ id: toId(filled), because: 'illegible characters filled in' }];
  }
  if (isSound(word)) return [];
  const correction = locateOneWrong(word);
  const corrected = correction === undefined ? [] : [putRight(word, correction)];
  return [...corrected, ...swappedBack(word)];
}

function putRight(word: readonly number[], { index, value }: Correction): Offer {
  return { id: toId(word.with(index, value)), because: 'one wrong character' };
}

function swappedBack(word: readonly number[]): Offer[] {
  const offers: Offer[] = [];
  for (let index = 0; index + 1 < word.length; index++) {
    const [left, right] = [word[index] ?? 0, word[index + 1] ?? 0];
    const swapped = word.with(index, right).with(index + 1, left);
    if (isSound(swapped)) offers.push({ id: toId(swapped), because: 'two neighbours swapped' });
  }
  return offers;
}

function isComplete(word: readonly (number | undefined)[]): word is number[] {
  return word.every((value) => value !== undefined);
}

function toWord(text: string): number[] | undefined {
  const word = [...text].map(symbolValue);
  return isComplete(word) ? word : undefined;
}

function toId(word: readonly number[]): PlantId {
  let id = '';
  for (const value of word) id += characterOf(value);
  return id as PlantId;
}
