import { describe, expect, test } from 'vitest';
import type { BitMatrix } from '../../src/codes/bit-matrix.js';
import { bwipQr } from '../../src/codes/bwip.js';
import { composeTagQr, isTagText, TAG_MASK } from '../../src/codes/tag-qr.js';
import { type Random, seededRandom } from '../support/random.js';
import { penalty } from './penalty.js';

const CROCKFORD = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';

/** Ten characters at most: an ID of 5 to 7 and an issue that fills what is left, or is short. */
function anyTagText(random: Random): string {
  const length = 5 + random.below(3);
  const id = Array.from({ length }, () => CROCKFORD.charAt(random.below(32))).join('');
  const digits = 1 + random.below(9 - length);
  const least = 10 ** (digits - 1);
  return `${id}.${least + random.below(9 * least)}`;
}

describe('composing', () => {
  test('gives what bwip-js draws, at every length', () => {
    const random = seededRandom(20261125);
    const lengths = new Set<number>();
    for (let count = 0; count < 400; count++) {
      const text = anyTagText(random);
      // Five digits in a row or more, and bwip-js may leave alphanumeric mode, as composing must not.
      if (/[0-9]{5}/.test(text)) continue;
      lengths.add(text.length);
      const drawn = bwipQr(text, { level: 'H', version: 1, mask: TAG_MASK });
      expect(modulesOf(composeTagQr(text)), text).toEqual(modulesOf(drawn));
    }
    expect([...lengths].sort((a, b) => a - b)).toEqual([7, 8, 9, 10]);
  });

  test('refuses what is no tag text', () => {
    for (const text of ['K7FY5', 'K7FY.1', 'K7FYI.1', 'k7fy5.1', 'K7FY5.', 'ZZZZZZZ.123', 'K7FY5.1 ']) {
      expect(isTagText(text), text).toBe(false);
      expect(() => composeTagQr(text)).toThrow();
    }
  });
});

test("the tags' mask has the lowest mean penalty over tag texts", () => {
  const random = seededRandom(18004);
  const texts = Array.from({ length: 300 }, () => anyTagText(random));
  const means = Array.from(
    { length: 8 },
    (_, mask) => texts.reduce((sum, text) => sum + penalty(composeTagQr(text, mask)), 0) / texts.length,
  );
  expect(means.indexOf(Math.min(...means))).toBe(TAG_MASK);
});

function modulesOf(matrix: BitMatrix): string {
  let modules = '';
  for (let row = 0; row < matrix.size; row++) {
    for (let column = 0; column < matrix.size; column++) modules += matrix.dark(row, column) ? '1' : '0';
  }
  return modules;
}
