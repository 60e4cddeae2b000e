/**
 * The Code 128 of a tag text (ISO/IEC 15417): start, a symbol character for each character, check
 * character, stop. All but a few tag texts are in code set B alone, where that is a look-up; the table
 * comes from bwip-js, once, whose own drawing takes thirty times as long.
 */
import assert from 'node:assert/strict';
import { bwipCode128 } from './bwip.js';

/** Value of the start character of set B; characters of the set have their ASCII code less 32. */
const START_B = 104;
const FIRST_CODE = 32;
const MODULUS = 103;

/** Set B holds the values 0 to 94 as printable characters; the rest can only be check characters. */
const PRINTABLE_COUNT = 95;

/** Bars and spaces of a symbol character. */
const ELEMENTS = 6;

/** From four digits in a row on, set C makes the symbol shorter (Annex E). */
const SET_B_ALONE = /^(?!.*\d{4})[0-9A-Z]+\.\d+$/;

interface Table {
  readonly start: readonly number[];
  readonly stop: readonly number[];
  /** By value, 0 to 102. */
  readonly characters: readonly (readonly number[])[];
}

let table: Table | undefined;

/** Whether `text` is a tag text that code set B draws shortest. */
export function isSetBText(text: string): boolean {
  return SET_B_ALONE.test(text);
}

/** Widths of bars and spaces of a text for which `isSetBText` holds. */
export function composeTagCode128(text: string): readonly number[] {
  assert(isSetBText(text), `"${text}" is no tag text of set B alone`);
  table ??= makeTable();
  const { start, stop, characters } = table;
  const widths = [...start];
  let sum = START_B;
  for (let index = 0; index < text.length; index++) {
    const value = text.charCodeAt(index) - FIRST_CODE;
    sum += (index + 1) * value;
    widths.push(...(characters[value] ?? []));
  }
  widths.push(...(characters[sum % MODULUS] ?? []), ...stop);
  return widths;
}

function makeTable(): Table {
  const character = (value: number) => String.fromCharCode(FIRST_CODE + value);
  const characters = Array.from({ length: MODULUS }, (_, value) => {
    if (value < PRINTABLE_COUNT) return bwipCode128(character(value)).slice(ELEMENTS, 2 * ELEMENTS);
    // As the check character of two: 104 + first + 2 × second is 103 + value.
    const second = 40;
    const first = MODULUS + value - START_B - 2 * second;
    return bwipCode128(character(first) + character(second)).slice(3 * ELEMENTS, 4 * ELEMENTS);
  });
  const any = bwipCode128('A');
  return { start: any.slice(0, ELEMENTS), stop: any.slice(3 * ELEMENTS), characters };
}
