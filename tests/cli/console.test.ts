import { expect, it } from 'vitest';
import { columns } from '../../src/cli/console.js';

it('columns stay aligned with letters that terminals show two columns wide or none', () => {
  // UAX #11: 無花果 is Wide, six columns; the emoji two; a combining caron none.
  const rows = [
    ['無花果', '|'],
    ['fig 🌿', '|'],
    ['C\u030Ca\u0301rka', '|'],
    ['Crépine', '|'],
  ];
  expect(columns(rows).split('\n')).toEqual([
    '無花果   |',
    'fig 🌿   |',
    'C\u030Ca\u0301rka    |',
    'Crépine  |',
  ]);
});
