import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type FitBox, fitText, lineCount } from '../../src/sheets/text-fit.js';

/** Every UTF-16 unit is half the type size wide. */
const field = (name: string, text: string) => ({ name, text, measure: (part: string) => part.length / 2 });

const BOX: FitBox = { width: 100, height: 40, largestSize: 10, leastSize: 5, capEm: 0.7, leadingEm: 1.2 };

test('a line first needs its capitals, further ones the leading', () => {
  expect(lineCount({ ...BOX, height: 6.9 }, 10)).toBe(0);
  expect(lineCount({ ...BOX, height: 7 }, 10)).toBe(1);
  expect(lineCount({ ...BOX, height: 18.9 }, 10)).toBe(1);
  expect(lineCount({ ...BOX, height: 19 }, 10)).toBe(2);
});

test('what fits at the largest size is left as it is', () => {
  const fitted = fitText([field('cross', 'x'.repeat(20)), field('key', 'y')], BOX);
  expect(fitted).toMatchObject({ size: 10, shortened: [] });
  expect(fitted.lines.map(({ text }) => text)).toEqual(['x'.repeat(20), 'y']);
});

test('what is a little too long is shrunk', () => {
  // 24 units at size 8 are 96 wide.
  expect(fitText([field('cross', 'x'.repeat(24))], BOX)).toMatchObject({ size: 8, lines: [{}] });
});

test('what is much too long is wrapped, evenly, and × stays with the name before it', () => {
  const { size, lines } = fitText([field('cross', 'Black Lantern × Old Orchard 14')], BOX);
  expect(size).toBe(10);
  expect(lines.map(({ text }) => text)).toEqual(['Black Lantern ×', 'Old Orchard 14']);
});

test('a no-break space is broken only when all else fails', () => {
  const text = 'sown\u00a02026-03-14';
  expect(fitText([field('sown', text)], { ...BOX, width: 55 }).lines.map((line) => line.text)).toEqual([
    text,
  ]);
  expect(fitText([field('sown', text)], { ...BOX, width: 50 }).lines.map((line) => line.text)).toEqual([
    'sown',
    '2026-03-14',
  ]);
});

test('what still does not fit is shortened, and the last fields give way first', () => {
  const fields = [
    field('cross', 'long word '.repeat(40).trim()),
    field('sown', 'sown'),
    field('key', 'k'.repeat(90)),
  ];
  const { lines, shortened, size } = fitText(fields, { ...BOX, height: 16 });
  expect(size).toBe(5);
  expect(lines.map(({ field }) => field.name)).toEqual(['cross', 'sown', 'key']);
  expect(shortened.map(({ name }) => name)).toEqual(['cross', 'key']);
  for (const { shown } of shortened) expect(shown).toMatch(/…$/);
  expect(fitText(fields, { ...BOX, height: 10 }).shortened.at(-1)).toEqual({
    name: 'key',
    full: 'k'.repeat(90),
    shown: '',
  });
});

test('a word broken over lines has lost nothing, and one cut short is shown without the breaks', () => {
  // Twenty characters a line at the least size.
  const box = { ...BOX, width: 50, height: 22 };
  const word = 'abcdefghijklmnopqrstuvwxyz0123';
  const broken = fitText([field('cross', word)], box);
  expect(broken.lines.map(({ text }) => text)).toEqual([word.slice(0, 20), word.slice(20)]);
  expect(broken.shortened).toEqual([]);
  const cut = fitText([field('cross', `${word}${word} ${word}`)], { ...box, height: 10 });
  expect(cut.lines.map(({ text }) => text)).toEqual([
    word.slice(0, 20),
    `${word.slice(20)}${word.slice(0, 9)}…`,
  ]);
  expect(cut.shortened[0]?.shown).toBe(`${word}${word.slice(0, 9)}…`);
});

test('whatever the texts, lines stay in the box and nothing is lost unreported', () => {
  const anyText = fc
    .string({ unit: 'grapheme', minLength: 1, maxLength: 60 })
    .filter((text) => text.trim() !== '');
  fc.assert(
    fc.property(
      fc.array(anyText, { minLength: 1, maxLength: 4 }),
      fc.integer({ min: 12, max: 200 }),
      fc.integer({ min: 1, max: 80 }),
      (texts, width, height) => {
        const fields = texts.map((text, index) => field(String(index), text));
        const box = { ...BOX, width, height };
        const { size, lines, shortened } = fitText(fields, box);
        expect(lines.length).toBeLessThanOrEqual(lineCount(box, size));
        for (const line of lines) {
          // An ellipsis alone is the least that is shown.
          const widest = line.text === '…' ? Math.max(width, size / 2) : width;
          expect(line.field.measure(line.text) * size).toBeLessThanOrEqual(widest + 1e-6);
        }
        for (const { name, text } of fields) {
          const shown = lines.filter((line) => line.field.name === name).map((line) => line.text);
          const bare = (some: string) => some.replace(/\s/gu, '');
          const report = shortened.find((one) => one.name === name);
          expect(bare(shown.join(''))).toBe(bare(report?.shown ?? text));
          if (report !== undefined) expect(bare(report.shown)).not.toBe(bare(text));
        }
      },
    ),
    { seed: 20261125, numRuns: 1000 },
  );
});

test('a cross of two lines or more is broken after its ×, for a line more at most', () => {
  const shown = (text: string, box: Partial<FitBox>) =>
    fitText([field('cross', text)], { ...BOX, ...box }).lines.map((line) => line.text);
  expect(shown('aaaa bbbb × cc', { width: 60, height: 100, leastSize: 10 })).toEqual(['aaaa bbbb ×', 'cc']);
  // No room for the third line that the break would cost.
  expect(shown('aaaa bbbb cccc × dd', { width: 55, height: 22, leastSize: 10 })).toEqual([
    'aaaa bbbb',
    'cccc × dd',
  ]);
});
