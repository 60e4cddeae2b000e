/** Packed symbols against the symbols themselves, as bwip-js draws them. */
import { expect, it } from 'vitest';
import { bwipQr } from '../../../src/codes/bwip.js';
import { composeTagQr, TAG_MASK } from '../../../src/codes/tag-qr.js';
import { ALIKE } from '../../../src/scan/reading/alike.js';
import { packTagCodes, sumsOverDark, withMoreTags } from '../../../src/scan/reading/tag-codes.js';
import { CELLS, cellOfModule, DARK, LIGHT, VARYING } from '../../../src/scan/reading/tag-grid.js';

/** Not all digits, which bwip-js would draw in another mode. */
const TEXTS = ['K7FY5.1', 'K7FY5.2', 'ZZZ7R.12', 'PXSV9.1', 'DZK67.3'];
const STRANGERS = ['21K9S.1', 'ZYGH0.1'];

const symbolOf = (text: string) => bwipQr(text, { level: 'H', version: 1, mask: TAG_MASK });

it('what is known of all tags is so on each of them', () => {
  const { known } = packTagCodes(TEXTS, STRANGERS);
  let compared = 0;
  for (const text of [...TEXTS, ...STRANGERS]) {
    const symbol = symbolOf(text);
    for (let module = 0; module < 21 * 21; module++) {
      const colour = known[cellOfModule(module)];
      if (colour === VARYING) continue;
      expect(colour).toBe(symbol.dark(Math.floor(module / 21), module % 21) ? DARK : LIGHT);
      compared++;
    }
  }
  // Finder patterns and their surroundings alone are 3 × 64 modules, the timing patterns 10 more.
  expect(compared).toBeGreaterThan(7 * 202);
  expect(known).toHaveLength(CELLS);
});

it("a tag's sum is that of the weights of its dark varying modules", () => {
  const codes = packTagCodes(TEXTS, STRANGERS);
  const weights = Float64Array.from(codes.varyingCells, (_, bit) => Math.sin(bit));
  const sums = sumsOverDark(codes, weights);
  [...TEXTS, ...STRANGERS].forEach((text, index) => {
    const symbol = symbolOf(text);
    let expected = 0;
    for (let module = 0; module < 21 * 21; module++) {
      const bit = codes.varyingCells.indexOf(cellOfModule(module));
      if (bit >= 0 && symbol.dark(Math.floor(module / 21), module % 21)) expected += weights[bit] as number;
    }
    expect(sums[index]).toBeCloseTo(expected, 4);
  });
});

it('tags added later come to the same as all packed at once, also where they differ in new modules', () => {
  const strangers = [...STRANGERS, 'K7FY5.2'];
  const few = TEXTS.filter((text) => text === 'K7FY5.1');
  for (const more of [['K7FY5.2'], ['PXSV9.1', 'DZK67.3'], ['ZZZ7R.12', 'K7FY5.2']]) {
    const left = strangers.filter((text) => !more.includes(text));
    const grown = withMoreTags(packTagCodes(few, strangers), more);
    const atOnce = packTagCodes([...few, ...more], left);
    expect(grown.texts).toEqual(atOnce.texts);
    expect(grown.strangers).toEqual(left);
    // Modules that no tag differs in any more, a stranger being gone, may still be kept apart.
    const weightOf = new Map([...grown.varyingCells].map((cell, bit) => [cell, Math.sin(bit)]));
    const weigh = (codes: typeof grown) =>
      sumsOverDark(
        codes,
        Float64Array.from(codes.varyingCells, (cell) => weightOf.get(cell) ?? 0),
      );
    const dark = (codes: typeof grown) =>
      [...codes.varyingCells].map((cell, bit) => [cell, codes.darkShare[bit]] as const);
    const shares = new Map(dark(grown));
    for (const [cell, share] of dark(atOnce)) expect(shares.get(cell)).toBeCloseTo(share as number, 6);
    const [one, other] = [weigh(grown), weigh(atOnce)];
    const offset = (one[0] as number) - (other[0] as number);
    one.forEach((sum, index) => {
      expect(sum - (other[index] as number)).toBeCloseTo(offset, 4);
    });
    expect(one).toHaveLength(other.length);
  }
});

it('what is written down as alike on all tags is so on each, and leaves out little', () => {
  const texts = [...TEXTS, ...STRANGERS, 'ABCDEF.1', 'ABCDEFG.3', 'ZZZ7R.9999', 'A0000.100'];
  // The standard's tests decode those of digits alone, too.
  const ofDigits = ['7654321.25', '00000.1', '12345.6789'].map((text) => [text, composeTagQr(text)] as const);
  for (const [text, symbol] of [...texts.map((text) => [text, symbolOf(text)] as const), ...ofDigits]) {
    for (let module = 0; module < 21 * 21; module++) {
      const colour = ALIKE[cellOfModule(module)];
      const isDark = symbol.dark(Math.floor(module / 21), module % 21);
      if (colour !== VARYING) expect(colour, `${text}, module ${module}`).toBe(isDark ? DARK : LIGHT);
    }
  }
  // Beside the symbol 31² - 21² cells; in it finder patterns, timing patterns and format (ISO/IEC 18004) are 233.
  expect(ALIKE.filter((colour) => colour !== VARYING).length).toBeGreaterThan(31 ** 2 - 21 ** 2 + 233);
});
