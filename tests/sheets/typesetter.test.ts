import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import fontkit from '@pdf-lib/fontkit';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { CAP_EM, describeCharacter, Typesetter } from '../../src/sheets/typesetter.js';

const typesetter = await Typesetter.open(['Ж']);

test('the height of capitals is the font file’s own', () => {
  for (const weight of [
    '700Bold/AtkinsonHyperlegibleNext_700Bold',
    '500Medium/AtkinsonHyperlegibleNext_500Medium',
  ]) {
    const path = `@expo-google-fonts/atkinson-hyperlegible-next/${weight}.ttf`;
    const font = fontkit.create(readFileSync(createRequire(import.meta.url).resolve(path)));
    expect(font.capHeight / font.unitsPerEm).toBe(CAP_EM);
  }
});

test('one font is kept as long as it has the characters, and another takes over where it has not', () => {
  expect(typesetter.set('Aurelda × Žuta', 'bold').runs.map(({ key }) => key)).toEqual(['B']);
  expect(typesetter.set('Aurelda × Жёлтая 2', 'medium').runs.map(({ key }) => key)).toEqual(['M', 'D', 'M']);
});

test('the width is that of the glyphs, whichever way it is asked', () => {
  fc.assert(
    fc.property(
      fc.string({ unit: 'grapheme', maxLength: 40 }),
      fc.constantFrom('bold', 'medium'),
      (text, weight) => {
        const set = typesetter.set(text, weight as 'bold');
        expect(set.widthEm).toBeCloseTo(typesetter.widthEm(text, weight as 'bold'), 9);
        expect(set.runs.reduce((sum, run) => sum + run.widthEm, 0)).toBeCloseTo(set.widthEm, 9);
      },
    ),
    { seed: 20261125, numRuns: 500 },
  );
});

test('a letter with a combining mark is the composed letter', () => {
  expect(typesetter.set('Z\u030c', 'bold')).toEqual(typesetter.set('\u017d', 'bold'));
});

test('a mark that no letter is composed with comes from the font whose marks need no shaper', () => {
  expect(typesetter.set('x\u0301', 'bold').runs.map(({ key }) => key)).toEqual(['DB']);
});

test('right-to-left runs are set in visual order', () => {
  // Of alef, bet the first to be read stands at the right.
  const [alef, bet] = ['א', 'ב'].map((letter) => typesetter.set(letter, 'medium').runs[0]?.hex);
  expect(typesetter.set('אב', 'medium').runs[0]?.hex).toBe(`${bet}${alef}`);
});

/** All glyphs of a line in the order in which they are drawn. */
const glyphs = (text: string) =>
  typesetter
    .set(text, 'bold')
    .runs.map(({ hex }) => hex)
    .join('');

test.each([
  ['Hebrew', 'תאנה', 'שקד'],
  ['Arabic', 'تين', 'لوز'],
  ['two words', 'תאנה לבנה', 'שקד מר'],
])('a cross of %s names has the seed parent at the left', (_script, seed, pollen) => {
  expect(glyphs(`${seed} × ${pollen}`)).toBe(glyphs(seed) + glyphs(' × ') + glyphs(pollen));
  // As it is when the line is broken after its sign.
  expect(glyphs(`${seed} ×`)).toBe(glyphs(seed) + glyphs(' ×'));
});

test('a right-to-left name with a number or brackets is turned round in its own place', () => {
  // Unicode Standard Annex 9: numbers keep their order (rule L2), brackets are mirrored (rule L4).
  expect(glyphs('תאנה 12 × שקד')).toBe(glyphs('12 ') + glyphs('תאנה') + glyphs(' × ') + glyphs('שקד'));
  expect(glyphs('Aurelda × שקד A3-07')).toBe(glyphs('Aurelda × ') + glyphs('A3-07 ') + glyphs('שקד'));
  const bracketed = glyphs('(') + glyphs('לבנה') + glyphs(') ') + glyphs('תאנה');
  expect(glyphs('תאנה (לבנה) × Tessa')).toBe(bracketed + glyphs(' × Tessa'));
  const nested = ['(', 'תאנה', ' × ', 'שקד', ') × Tessa'];
  expect(glyphs(nested.join(''))).toBe(nested.map(glyphs).join(''));
  expect(glyphs('Aurelda 12 (שקד)')).toBe(glyphs('Aurelda 12 (') + glyphs('שקד') + glyphs(')'));
});

test('any character is set or named, and none is fatal', () => {
  for (let codePoint = 0; codePoint < 0x20000; codePoint += 7) {
    const character = String.fromCodePoint(codePoint);
    const set = typesetter.set(character, 'medium');
    for (const missing of set.missing) expect(describeCharacter(missing)).toMatch(/\(U\+[0-9A-F]{4,6}\)$/);
  }
  expect(typesetter.set('a\u200db', 'bold').missing).toEqual([]);
  expect(typesetter.set('a\n\tb', 'bold')).toEqual(typesetter.set('a b', 'bold'));
});
