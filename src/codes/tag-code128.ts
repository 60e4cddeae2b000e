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

/** The start characters' widths, of sets A, B and C, values 103 to 105 (ISO/IEC 15417, table 1). */
const STARTS = ['211412', '211214', '211232'];

/** Set B holds the values 0 to 94 as printable characters; the rest can only be check characters. */
const PRINTABLE_COUNT = 95;

/** Bars and spaces of a symbol character. */
const ELEMENTS = 6;

/** From four digits in a row on, set C makes the symbol shorter (Annex E). */
const SET_B_ALONE = /^(?!.*\d{4})[0-9A-Z]+\.\d+$/;

/** Modules of a symbol character, and of the stop character with its last bar. */
export const CHARACTER_MODULES = 11;
export const STOP_MODULES = 13;

interface Table {
  readonly stop: readonly number[];
  /** By value, 0 to 105. */
  readonly characters: readonly (readonly number[])[];
  /** Values by their widths in a row. */
  readonly byWidths: ReadonlyMap<string, number>;
}

let table: Table | undefined;

/** Whether `text` is a tag text that code set B draws shortest. */
export function isSetBText(text: string): boolean {
  return SET_B_ALONE.test(text);
}

/** Widths of bars and spaces of a text for which `isSetBText` holds. */
export function composeTagCode128(text: string): readonly number[] {
  table ??= makeTable();
  const { stop, characters } = table;
  const widths: number[] = [];
  for (const value of setBValues(text)) widths.push(...(characters[value] ?? []));
  widths.push(...stop);
  return widths;
}

/** The values of a tag text's symbol characters: start, the text's, check; the stop character has none. */
export function tagCode128Values(text: string): readonly number[] {
  return isSetBText(text) ? setBValues(text) : valuesOfWidths(bwipCode128(text));
}

function setBValues(text: string): number[] {
  assert(isSetBText(text), `"${text}" is no tag text of set B alone`);
  const values = [START_B];
  let sum = START_B;
  for (let index = 0; index < text.length; index++) {
    const value = text.charCodeAt(index) - FIRST_CODE;
    sum += (index + 1) * value;
    values.push(value);
  }
  values.push(sum % MODULUS);
  return values;
}

function valuesOfWidths(widths: readonly number[]): number[] {
  table ??= makeTable();
  const values: number[] = [];
  // The stop character, an element longer, is no value.
  for (let at = 0; at + ELEMENTS + 1 < widths.length; at += ELEMENTS) {
    const value = table.byWidths.get(widths.slice(at, at + ELEMENTS).join(''));
    assert(value !== undefined, `no symbol character has the widths at ${at} of ${widths}`);
    values.push(value);
  }
  return values;
}

/** Modules of each symbol character by its value, start characters included, and of stop; 1 is dark. */
export function code128Modules(): { readonly characters: readonly number[][]; readonly stop: number[] } {
  table ??= makeTable();
  const modulesOf = (widths: readonly number[]) =>
    widths.flatMap((width, element) => Array<number>(width).fill(element % 2 === 0 ? 1 : 0));
  return { characters: table.characters.map(modulesOf), stop: modulesOf(table.stop) };
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
  for (const widths of STARTS) characters.push([...widths].map(Number));
  const byWidths = new Map(characters.map((widths, value) => [widths.join(''), value]));
  return { stop: bwipCode128('A').slice(3 * ELEMENTS), characters, byWidths };
}
