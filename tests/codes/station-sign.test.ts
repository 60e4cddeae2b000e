import fc from 'fast-check';
import { expect, it } from 'vitest';
import { readSign, signText } from '../../src/codes/station-sign.js';
import { readTagText, tagText } from '../../src/codes/tag-text.js';
import { idOfNumber } from '../../src/ids/allocation.js';

const station = fc
  .string({ minLength: 1, maxLength: 60, unit: 'grapheme' })
  .filter((name) => /\S/.test(name));

it('reads back the name of any station', () => {
  fc.assert(
    fc.property(station, (name) => {
      expect(readSign(signText(name.trim()))).toBe(name.trim());
    }),
    { seed: 20261125, numRuns: 1000 },
  );
});

it('takes no tag for a sign, and no link to one', () => {
  for (const length of [5, 6, 7] as const) {
    for (let number = 1; number <= 2000; number++) {
      const text = tagText(idOfNumber(number, length), 1 + (number % 9999));
      expect(readSign(text)).toBeUndefined();
      expect(readSign(`HTTPS://GARDEN.INVALID/${text}`)).toBeUndefined();
    }
  }
  for (const text of ['station', 'station ', 'stations 1', 'no station 1', '']) {
    expect(readSign(text)).toBeUndefined();
  }
});

it('is never read as a tag, whatever the name of the station', () => {
  fc.assert(
    fc.property(fc.oneof(station, fc.stringMatching(/^[A-Z0-9]{0,3}(\.[0-9]{1,4})?$/)), (name) => {
      fc.pre(/\S/.test(name));
      for (const length of [5, 6, 7] as const) {
        expect(readTagText(signText(name), length)).toEqual({ kind: 'not a tag' });
      }
    }),
    { seed: 20261125, numRuns: 2000 },
  );
});
