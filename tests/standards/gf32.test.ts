/**
 * The field GF(32) against values from outside this project.
 */
import { describe, expect, it } from 'vitest';
import { divide, logOf, multiply, powerOfAlpha } from '../../src/ids/gf32.js';

describe('GF(32) on x⁵ + x² + 1', () => {
  it('has the powers of α of the published table', () => {
    // Source: design reference, section 4.3; x⁵+x²+1 is primitive (OEIS A071802).
    const published = '1 2 4 8 16 5 10 20 13 26 17 7 14 28 29 31 27 19 3 6 12 24 21 15 30 25 23 11 22 9 18';
    expect(Array.from({ length: 31 }, (_, exponent) => powerOfAlpha(exponent)).join(' ')).toBe(published);
    for (let value = 1; value < 32; value++) expect(powerOfAlpha(logOf(value))).toBe(value);
  });

  it('makes the fixed codewords of the paging code vanish at α and α³', () => {
    // ITU-R M.584: sync word 7CD215D8 and idle word 7A89C197 are words of the BCH(31, 21) code with
    // generator (x⁵+x²+1)(x⁵+x⁴+x³+x²+1), whose roots include α and α³. The last bit is even parity.
    for (const word of [0x7cd215d8, 0x7a89c197]) {
      for (const root of [1, 3]) {
        let value = 0;
        for (let bit = 31; bit >= 1; bit--)
          value = multiply(value, powerOfAlpha(root)) ^ ((word >>> bit) & 1);
        expect(value).toBe(0);
      }
    }
  });

  it('divides what it multiplies, and is distributive, for all elements', () => {
    for (let a = 0; a < 32; a++) {
      for (let b = 1; b < 32; b++) {
        expect(divide(multiply(a, b), b)).toBe(a);
        for (let c = 0; c < 32; c++) expect(multiply(a, b ^ c)).toBe(multiply(a, b) ^ multiply(a, c));
      }
    }
  });

  it('refuses to divide by zero', () => {
    expect(() => divide(1, 0)).toThrow(RangeError);
  });
});
