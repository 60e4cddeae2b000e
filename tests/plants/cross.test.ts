import fc from 'fast-check';
import { expect, test } from 'vitest';
import { formatCross, parseCross } from '../../src/plants/cross.js';

test.each([
  ['Amber × Dusk', 'Amber', 'Dusk'],
  ['Amber x Dusk', 'Amber', 'Dusk'],
  ['Amber X Dusk', 'Amber', 'Dusk'],
  ['Amber * Dusk', 'Amber', 'Dusk'],
  ['Amber×Dusk', 'Amber', 'Dusk'],
  ['  Amber  ✕  Dusk ', 'Amber', 'Dusk'],
  ['Max Xenon x Maxx', 'Max Xenon', 'Maxx'],
  ['Malcolm X × Betty', 'Malcolm X', 'Betty'],
  ['A x B × C', 'A x B', 'C'],
  ['Ficus ×hybrida × Dusk', 'Ficus ×hybrida', 'Dusk'],
  ['(A × B) × C', 'A × B', 'C'],
  ['A x (B x C)', 'A', 'B x C'],
  ['(A × B) × (C × D)', 'A × B', 'C × D'],
  ['Amber (red) × Dusk', 'Amber (red)', 'Dusk'],
  ['Amber × ?', 'Amber', null],
  ['? × Dusk', null, 'Dusk'],
])('%s', (text, seedParent, pollenParent) => {
  expect(parseCross(text)).toEqual({ seedParent, pollenParent });
});

test.each([
  'Max Xenon',
  'AxB',
  'A*B',
  'Ficus ×hybrida',
  'A × B × C',
  'A x B x C',
  'x',
  '× B',
  'A × ',
  ' x B',
  '',
  'C-12',
  ')A × B(',
])('%j is not a cross of two parents', (text) => {
  expect(parseCross(text)).toBeUndefined();
});

test.each([
  ['Amber', 'Dusk', 'Amber × Dusk'],
  [null, 'Dusk', '? × Dusk'],
  ['Amber', null, 'Amber × ?'],
  [null, null, undefined],
  ['A × B', 'C', '(A × B) × C'],
])('%s and %s are written %s', (seedParent, pollenParent, text) => {
  expect(formatCross(seedParent, pollenParent)).toBe(text);
});

test('what is written reads back as the same parents', () => {
  const word = fc.stringMatching(/^[A-Za-zé'-]{1,6}$/);
  const name = fc.oneof(
    fc.array(word, { minLength: 1, maxLength: 3 }).map((words) => words.join(' ')),
    fc.tuple(word, fc.constantFrom(' x ', ' × ', '×', ' ×'), word).map((parts) => parts.join('')),
  );
  const run = fc.property(fc.option(name), fc.option(name), (seedParent, pollenParent) => {
    const text = formatCross(seedParent, pollenParent);
    if (text === undefined) expect([seedParent, pollenParent]).toEqual([null, null]);
    else expect(parseCross(text)).toEqual({ seedParent, pollenParent });
  });
  fc.assert(run, { seed: 20261125, numRuns: 1000 });
});

test('a long cell of separators is answered at once', () => {
  expect(parseCross('(a x '.repeat(100_000))).toBeUndefined();
});
