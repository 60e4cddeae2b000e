/** Packed symbols against the symbols themselves, as bwip-js draws them. */
import { expect, it } from 'vitest';
import { bwipQr } from '../../../src/codes/bwip.js';
import { TAG_MASK } from '../../../src/codes/tag-qr.js';
import { packTagCodes, sumsOverDark } from '../../../src/scan/reading/tag-codes.js';
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
