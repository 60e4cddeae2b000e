/** Code 128 against ISO/IEC 15417, as public pages quote it. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { code128Bars, code128WidestModules } from '../../src/codes/code128.js';
import { InputError } from '../../src/errors.js';

/**
 * Check values worked out on public pages: `PJJ123C` (an encyclopaedia's example), `ABCDEF`, `abcdef`,
 * `345678` (a barcode font maker's), `HI345678` (a symbology page), and three tag texts by hand.
 *
 * The first symbol character may start in set A or B, which changes the weighted sum by one; the check
 * value given is the one for the set that the encoder chose.
 */
const CHECK_VALUES: Readonly<
  Record<string, { readonly A?: number; readonly B?: number; readonly C?: number }>
> = {
  // 54 with start A (103); start B (104) adds one.
  PJJ123C: { A: 54, B: 55 },
  ABCDEF: { A: 42, B: 43 },
  abcdef: { B: 97 },
  '345678': { C: 73 },
  HI345678: { A: 67, B: 68 },
  'K7FY5.1': { B: 19 },
  'ZZZ7R.12': { B: 8 },
  'K7FQQ.1': { B: 24 },
};

/** Start patterns as widths of bars and spaces. */
const STARTS = { A: '211412', B: '211214', C: '211232' } as const;
const STOP = '2331112';

test.each(Object.entries(CHECK_VALUES))('%s has the published check value', (text, values) => {
  const characters = charactersOf(text);
  const start = (Object.keys(STARTS) as (keyof typeof STARTS)[]).find((set) => STARTS[set] === characters[0]);
  const check = values[start ?? 'A'];
  expect(check, `starts in set ${start}`).toBeDefined();
  expect(PATTERNS.indexOf(characters.at(-1) ?? '')).toBe(check);
});

/** Widths without quiet zones, measured with an independent encoder. */
const WIDTHS: Readonly<Record<string, number>> = {
  ABCDEF: 101,
  '12': 46,
  '1234': 57,
  '345678': 68,
  '01234567': 79,
  '1234567': 90,
  '123': 68,
  AB1234: 90,
  '00000.1': 101,
  'ZZZ7R.9999': 134,
  'K7FY5.1': 112,
  'K7FY5.12': 123,
};

test.each(Object.entries(WIDTHS))('%s is %i modules wide', (text, modules) => {
  expect(code128Bars(text).modules).toBe(modules);
});

test('every symbol is start, characters of 11 modules, check and stop, and its check value is right', () => {
  fc.assert(
    fc.property(fc.stringMatching(/^[0-9A-HJKMNP-TV-Z]{5,7}\.[1-9][0-9]{0,3}$/), (text) => {
      const characters = charactersOf(text);
      const values = characters.map((pattern) => PATTERNS.indexOf(pattern));
      expect(values).not.toContain(-1);
      // ISO/IEC 15417: the start's value plus each character's times its place, modulo 103.
      const sum = values.slice(0, -1).reduce((total, value, place) => total + value * Math.max(1, place), 0);
      expect(values.at(-1)).toBe(sum % 103);
      expect(code128Bars(text).modules).toBeLessThanOrEqual(code128WidestModules(text.length));
    }),
    { seed: 20261125, numRuns: 300 },
  );
});

test('what is not ASCII is refused', () => {
  for (const text of ['Žuta', '', 'a\nb', '×']) expect(() => code128Bars(text)).toThrow(InputError);
});

/** Patterns of all symbol characters but the stop, cut into sixes; the last is the check character. */
function charactersOf(text: string): string[] {
  const widths = code128Bars(text).widths.join('');
  expect(widths.endsWith(STOP)).toBe(true);
  return widths.slice(0, -STOP.length).match(/.{6}/g) ?? [];
}

/**
 * Element widths of values 0 to 105. Of 0 to 99 they are read off symbols of set C, where a pair of
 * digits is its own value; so these tests show that the encoder agrees with itself and with the published
 * check values, and the decoders of the printed sheets that its patterns are the world's.
 */
const PATTERNS: readonly string[] = [
  ...Array.from({ length: 100 }, (_, value) => setCPattern(value)),
  ...['114131', '311141', '411131', STARTS.A, STARTS.B, STARTS.C],
];

/** The first character after the start of a symbol that is that pair of digits twice. */
function setCPattern(value: number): string {
  const digits = String(value).padStart(2, '0');
  return code128Bars(digits + digits)
    .widths.join('')
    .slice(6, 12);
}
