import { expect, it } from 'vitest';
import { spreadsheetFault } from '../../src/plants/spreadsheet-cells.js';

// ECMA-376 (5th edition, 2021), part 1, 18.17.3: the error constants; other languages from memory.
it.each([
  ...['#DIV/0!', '#N/A', '#NAME?', '#NULL!', '#NUM!', '#REF!', '#VALUE!'],
  ...['#BEZUG!', '#WERT!', '#NV', '#ZAHL!', '#VALEUR!', '#NOM?', '#¡VALOR!', '#¿NOMBRE?', '#RIF!', '#N/D'],
])('%s is an error', (cell) => expect(spreadsheetFault(cell)).toMatch(/spreadsheet's error/));

it.each(['3,00E+05', '3.00E+05', '1E+12'])('%s is a number shortened', (cell) =>
  expect(spreadsheetFault(cell)).toMatch(/shortened/),
);

it('a formula is named with the text that it holds', () => {
  expect(spreadsheetFault('="001"')).toMatch(/is a formula: write "001"\.$/);
  expect(spreadsheetFault('=A1&B1')).toMatch(/is a formula/);
});

it.each(['', '#12', 'A#1!', '=', '#', 'North bench 12', '3E5', '12', '#a!', 'NV', 'E+05', '#1 !'])(
  '%j is a name',
  (cell) => expect(spreadsheetFault(cell)).toBeUndefined(),
);
