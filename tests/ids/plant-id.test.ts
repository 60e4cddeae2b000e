import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ALPHABET, canonical } from '../../src/ids/alphabet.js';
import { findSoundId, hasIdShape, idOf, offersFor } from '../../src/ids/plant-id.js';

const anyId = fc.nat(32 ** 3 - 1).map((value) => idOf(value, 5));

/** The number that three data characters stand for. */
const valueOfData = (data: string) => [...data].reduce((value, c) => value * 32 + ALPHABET.indexOf(c), 0);

describe('idOf', () => {
  it('gives the IDs that are fixed for ever', () => {
    // Source: design reference, table 4.4, column "roots 1, α" (computed there independently).
    for (const id of ['K7FY5', 'ABC94', '12344', 'ZZZ7R', '00132', '01076', '100FE']) {
      expect(idOf(valueOfData(id.slice(0, 3)), 5)).toBe(id);
    }
  });

  it('when the number does not fit the length, throws', () => {
    expect(() => idOf(32 ** 3, 5)).toThrow(RangeError);
    expect(() => idOf(-1, 5)).toThrow(RangeError);
  });
});

describe('findSoundId', () => {
  it('when the ID is sound and of the length asked for, returns it; otherwise nothing', () => {
    expect(findSoundId('K7FY5', 5)).toBe('K7FY5');
    expect(findSoundId('K7FQQ', 5)).toBeUndefined(); // Sound under the roots α, α²: not ours.
    expect(findSoundId('0K7FY5', 5)).toBeUndefined(); // A leading 0 keeps a word sound: length first.
    expect(findSoundId('K7FY', 5)).toBeUndefined();
    expect(findSoundId('K7FYU', 5)).toBeUndefined();
  });
});

describe('hasIdShape', () => {
  it('when characters are of the alphabet or illegible, and as many as asked for, is true', () => {
    expect(hasIdShape('K?F?5', 5)).toBe(true);
    expect(hasIdShape('K7FY5', 6)).toBe(false);
    expect(hasIdShape('K7FU5', 5)).toBe(false);
  });
});

describe('offersFor', () => {
  it('when up to two characters are illegible, offers the one ID they leave', () => {
    expect(offersFor('K?F?5')).toEqual([{ id: 'K7FY5', because: 'illegible characters filled in' }]);
    fc.assert(
      fc.property(anyId, fc.nat(4), fc.nat(4), (id, first, second) => {
        const holed = [...id].with(first, '?').with(second, '?').join('');
        expect(offersFor(holed)).toEqual([{ id, because: 'illegible characters filled in' }]);
      }),
      { seed: 20261125 },
    );
  });

  it('when one character is wrong, the right ID is among the offers', () => {
    const wrong = fc.record({ id: anyId, index: fc.nat(4), shift: fc.integer({ min: 1, max: 31 }) });
    fc.assert(
      fc.property(wrong, ({ id, index, shift }) => {
        const character = ALPHABET[(ALPHABET.indexOf(id[index] ?? '') + shift) % 32] ?? '';
        const offers = offersFor([...id].with(index, character).join(''));
        expect(offers).toContainEqual({ id, because: 'one wrong character' });
      }),
      { seed: 20261125 },
    );
  });

  it('when two neighbours are swapped, offers them swapped back and no other correction', () => {
    expect(offersFor('7KFY5')).toEqual([{ id: 'K7FY5', because: 'two neighbours swapped' }]);
    fc.assert(
      fc.property(anyId, fc.nat(3), (id, index) => {
        const [left, right] = [id[index] ?? '', id[index + 1] ?? ''];
        fc.pre(left !== right);
        const offers = offersFor(
          [...id]
            .with(index, right)
            .with(index + 1, left)
            .join(''),
        );
        expect(offers).toContainEqual({ id, because: 'two neighbours swapped' });
        expect(offers.every((offer) => offer.because === 'two neighbours swapped')).toBe(true);
      }),
      { seed: 20261125 },
    );
  });

  it('when the ID is sound, or three characters are illegible, offers nothing', () => {
    expect(offersFor('K7FY5')).toEqual([]);
    expect(offersFor('K??Y?')).toEqual([]);
  });
});

describe('canonical', () => {
  it('when look-alikes, small letters, spaces or hyphens were typed, folds them', () => {
    expect(canonical(' k7f-y5 ')).toBe('K7FY5');
    expect(canonical('oil')).toBe('011');
    expect(canonical('Ｋ７ＦＹ５')).toBe('K7FY5');
  });

  it('when applied twice, changes nothing more', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        expect(canonical(canonical(text))).toBe(canonical(text));
      }),
      { seed: 20261125 },
    );
  });
});
