import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fillErasures, isSound, locateOneWrong, withCheckSymbols } from '../../src/ids/check-symbols.js';

const symbol = fc.integer({ min: 0, max: 31 });
const dataOf = (length: number) => fc.array(symbol, { minLength: length, maxLength: length });

/** Every sound word of length 5: all 32³ data words with their check symbols. */
function allSoundWords(): number[][] {
  const words: number[][] = [];
  for (let value = 0; value < 32 ** 3; value++) {
    words.push(withCheckSymbols([value >> 10, (value >> 5) & 31, value & 31]));
  }
  return words;
}

describe('the [5, 3] code, tried exhaustively', () => {
  it('has distance 3: weights 0, then 310 of 3, 4,495 of 4, 27,962 of 5 and none of 1 or 2', () => {
    // Weight distribution of an MDS [5, 3] code over GF(32); for a linear code the least weight is
    // the distance. Source: design reference, table 4.4 (computed there independently).
    const weights = [0, 0, 0, 0, 0, 0];
    for (const word of allSoundWords()) {
      const weight = word.filter((value) => value !== 0).length;
      weights[weight] = (weights[weight] ?? 0) + 1;
    }
    expect(weights).toEqual([1, 0, 0, 310, 4495, 27962]);
  });

  it('locates every single wrong symbol: 155 of 155 error patterns, in every sound word', () => {
    // Located or not depends on the error alone, the code being linear; every pattern is tried on
    // the zero word and, against mistakes in that argument, on a spread of others.
    const words = allSoundWords().filter((_, index) => index % 997 === 0);
    let tried = 0;
    for (const word of words) {
      for (let index = 0; index < 5; index++) {
        for (let error = 1; error < 32; error++) {
          const wrong = word.with(index, (word[index] ?? 0) ^ error);
          expect(isSound(wrong)).toBe(false);
          expect(locateOneWrong(wrong)).toEqual({ index, value: word[index] });
          tried++;
        }
      }
    }
    expect(tried).toBe(155 * words.length);
  });

  it('never takes two wrong symbols for a sound word; 930 of 9,610 look like one wrong elsewhere', () => {
    let sound = 0;
    let misleading = 0;
    let tried = 0;
    for (let first = 0; first < 5; first++) {
      for (let second = first + 1; second < 5; second++) {
        for (let a = 1; a < 32; a++) {
          for (let b = 1; b < 32; b++) {
            const wrong = [0, 0, 0, 0, 0].with(first, a).with(second, b);
            tried++;
            if (isSound(wrong)) sound++;
            if (locateOneWrong(wrong) !== undefined) misleading++;
          }
        }
      }
    }
    expect({ tried, sound, misleading }).toEqual({ tried: 9610, sound: 0, misleading: 930 });
  });

  it('never takes a swap of two symbols, near or far, for a sound word or for one wrong symbol', () => {
    let tried = 0;
    for (const word of allSoundWords()) {
      for (let first = 0; first < 5; first++) {
        for (let second = first + 1; second < 5; second++) {
          const [a, b] = [word[first] ?? 0, word[second] ?? 0];
          if (a === b) continue;
          const swapped = word.with(first, b).with(second, a);
          tried++;
          if (isSound(swapped) || locateOneWrong(swapped) !== undefined) {
            expect.fail(`${word.join(' ')} with ${first} and ${second} swapped`);
          }
        }
      }
    }
    expect(tried).toBeGreaterThan(300_000);
  });

  it('fills in any two symbols of any sound word exactly', () => {
    let filled = 0;
    for (const word of allSoundWords()) {
      for (let first = 0; first < 5; first++) {
        for (let second = first; second < 5; second++) {
          const erased = first === second ? [first] : [first, second];
          const holed = word.map((value, index) => (erased.includes(index) ? 31 : value));
          if (String(fillErasures(holed, erased)) !== String(word))
            expect.fail(`${word.join(' ')} at ${erased}`);
          filled++;
        }
      }
    }
    expect(filled).toBe(32768 * 15);
  });
});

describe('longer words', () => {
  for (const length of [4, 5]) {
    it(`with ${length} data symbols, one wrong symbol is located and two erasures are filled in`, () => {
      const cases = fc.record({
        data: dataOf(length),
        index: fc.nat(length + 1),
        other: fc.nat(length + 1),
        error: fc.integer({ min: 1, max: 31 }),
      });
      fc.assert(
        fc.property(cases, ({ data, index, other, error }) => {
          const word = withCheckSymbols(data);
          expect(isSound(word)).toBe(true);
          expect(locateOneWrong(word.with(index, (word[index] ?? 0) ^ error))).toEqual({
            index,
            value: word[index],
          });
          const erased = index === other ? [index] : [index, other];
          expect(fillErasures(word, erased)).toEqual(word);
        }),
        { seed: 20261125 },
      );
    });
  }

  it('with one erasure and another symbol misread, nothing is filled in', () => {
    fc.assert(
      fc.property(dataOf(3), fc.integer({ min: 1, max: 31 }), fc.nat(3), (data, error, place) => {
        const word = withCheckSymbols(data);
        expect(fillErasures(word.with(place, (word[place] ?? 0) ^ error), [4])).toBeUndefined();
      }),
      { seed: 20261125 },
    );
  });

  it('with three erasures, it refuses to guess', () => {
    expect(() => fillErasures([0, 0, 0, 0, 0], [0, 1, 2])).toThrow(RangeError);
  });
});
