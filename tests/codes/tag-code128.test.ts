import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bwipCode128 } from '../../src/codes/bwip.js';
import { code128Bars } from '../../src/codes/code128.js';
import {
  code128Modules,
  composeTagCode128,
  isSetBText,
  tagCode128Values,
} from '../../src/codes/tag-code128.js';
import { idOfNumber } from '../../src/ids/allocation.js';

test('every 7th ID of a ledger, at issues of one to four digits, is as bwip-js draws it', () => {
  let composed = 0;
  for (let number = 1; number < 32768; number += 7) {
    const text = `${idOfNumber(number, 5)}.${(number * 37) % 10 ** (1 + (number % 4)) || 1}`;
    expect(code128Bars(text).widths, text).toEqual(bwipCode128(text));
    if (isSetBText(text)) composed++;
  }
  expect(composed).toBeGreaterThan(3000);
});

test('so is every text of the shape of a tag text, with runs of digits of any length', () => {
  const mixed = fc.stringMatching(/^[0-9A-Z]{1,7}\.[0-9]{1,4}$/);
  const digits = fc.stringMatching(/^[A-Z]?[0-9]{3,6}[A-Z]?\.[0-9]{1,4}$/);
  fc.assert(
    fc.property(fc.oneof(mixed, digits), (text) => {
      expect(code128Bars(text).widths).toEqual(bwipCode128(text));
    }),
    { seed: 20261125, numRuns: 5000 },
  );
});

test('the check characters that no printable character has are met too', () => {
  // The value of a check character is (104 + sum of position × value) mod 103; 95 to 102 are not printable.
  const seen = new Set<number>();
  for (let number = 1; number < 2000; number++) {
    const text = `${idOfNumber(number, 5)}.1`;
    if (!isSetBText(text)) continue;
    let sum = 104;
    for (let at = 0; at < text.length; at++) sum += (at + 1) * (text.charCodeAt(at) - 32);
    if (seen.has(sum % 103)) continue;
    seen.add(sum % 103);
    expect(composeTagCode128(text)).toEqual(bwipCode128(text));
  }
  expect(seen.size).toBe(103);
});

test('four digits in a row are left to bwip-js', () => {
  expect(isSetBText('K7FY5.1')).toBe(true);
  for (const text of ['00001.1', 'K7FY5.1234', 'K1234.1', 'k7fy5.1', 'K7FY5']) {
    expect(isSetBText(text)).toBe(false);
  }
});

test('the values and modules of any tag text are those of the bars that bwip-js draws', () => {
  const { characters, stop } = code128Modules();
  const text = fc.stringMatching(/^[0-9A-HJKMNP-TV-Z]{5}\.[1-9][0-9]{0,3}$/);
  fc.assert(
    fc.property(text, (tag) => {
      const modules = [...tagCode128Values(tag).flatMap((value) => characters[value] ?? []), ...stop];
      const drawn = bwipCode128(tag).flatMap((width, at) => Array<number>(width).fill(1 - (at % 2)));
      expect(modules).toEqual(drawn);
    }),
    { seed: 20261125, numRuns: 1000 },
  );
});
