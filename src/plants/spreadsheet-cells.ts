/**
 * What a spreadsheet leaves in a CSV in place of what a person sees in the cell, or meant by it.
 */
import { quote } from '../wording.js';

/**
 * Values of cells whose formula failed: #REF!, #N/A, #DIV/0!, #NAME? (ECMA-376, part 1, 18.17.3), and the like
 * in other languages (#BEZUG!, #NV, #¿NOMBRE?).
 */
const ERROR = /^#(?:N\/[AD]|NV|[¡¿]?[\p{Lu}/0]{3,}[!?])$/u;

/** A long number shortened to be shown: 3.00E+05 of 300012. */
const SHORTENED = /^\d[.,]?\d*E\+\d+$/i;

/** How all of the faulty cells begin, and few others. */
const SUSPECT = /^[#=\d]/;

/** What is wrong with a cell that should hold a name, as a sentence; undefined if nothing is. */
export function spreadsheetFault(cell: string): string | undefined {
  if (!SUSPECT.test(cell)) return undefined;
  if (ERROR.test(cell)) {
    return `${quote(cell)} is a spreadsheet's error, not a value: mend the formula that is there, or empty the cell.`;
  }
  if (SHORTENED.test(cell)) {
    return `${quote(cell)} is a number that a spreadsheet has shortened: format the column as text, type the cell anew, and save again.`;
  }
  if (/^=./.test(cell)) {
    const text = /^="([^"]*)"$/.exec(cell)?.[1];
    const instead = text === undefined ? 'the value that it should have' : quote(text);
    return `${quote(cell)} is a formula: write ${instead}.`;
  }
  return undefined;
}
