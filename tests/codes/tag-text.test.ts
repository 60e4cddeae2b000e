import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readTagText, tagText } from '../../src/codes/tag-text.js';
import { idOfNumber } from '../../src/ids/allocation.js';
import { idOf } from '../../src/ids/plant-id.js';

const K7FY5 = idOf(19 * 1024 + 7 * 32 + 15, 5);

describe('tagText', () => {
  it('is the ID, a dot and the issue', () => {
    expect(tagText(K7FY5, 2)).toBe('K7FY5.2');
  });

  it('when the issue is not a whole number from 1 to 9999, throws', () => {
    for (const issue of [0, 1.5, 10_000]) expect(() => tagText(K7FY5, issue)).toThrow(RangeError);
  });
});

describe('readTagText', () => {
  it('undoes tagText, whatever the case, the spaces and the link around it', () => {
    const dress = fc.constantFrom(
      (text: string) => text,
      (text: string) => ` ${text.toLowerCase()}\r`,
      (text: string) => `https://tags.example/garden/${text}`,
      (text: string) => `HTTPS://192.0.2.1:8443/${text}`,
      (text: string) => `${text.slice(0, 3)}-${text.slice(3)}`,
    );
    const number = fc.integer({ min: 1, max: 32_767 });
    const issue = fc.integer({ min: 1, max: 9999 });
    fc.assert(
      fc.property(number, issue, dress, (n, i, dressed) => {
        const id = idOfNumber(n, 5);
        expect(readTagText(dressed(tagText(id, i)), 5)).toEqual({ kind: 'sound', id, issue: i });
      }),
      { seed: 20261125 },
    );
  });

  it('when only the ID was typed, leaves the issue open', () => {
    expect(readTagText('k7fy5', 5)).toEqual({ kind: 'sound', id: 'K7FY5', issue: null });
  });

  it('when characters are illegible or wrong, says so and carries the offers', () => {
    expect(readTagText('K?F?5.1', 5)).toEqual({
      kind: 'damaged',
      pattern: 'K?F?5',
      issue: 1,
      offers: [{ id: 'K7FY5', because: 'illegible characters filled in' }],
    });
    expect(readTagText('k7fy5.?', 5)).toEqual({
      kind: 'damaged',
      pattern: 'K7FY5',
      issue: null,
      offers: [{ id: 'K7FY5', because: 'only the issue is illegible' }],
    });
    expect(readTagText('K????', 5)).toEqual({ kind: 'damaged', pattern: 'K????', issue: null, offers: [] });
  });

  it('when the text is something else, says it is not a tag', () => {
    const others = [
      '',
      'K7FY',
      'K7FY55',
      'K7FYU',
      'K7FY5.0',
      'K7FY5.',
      'K7FY5.12345',
      'K7FY5.1.1',
      '4006381333931',
    ];
    for (const text of [...others, 'https://example.org/', 'x'.repeat(10_000)]) {
      expect(readTagText(text, 5), text).toEqual({ kind: 'not a tag' });
    }
  });

  it('when given any text at all, answers without throwing', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 400 }), (text) => {
        expect(['sound', 'damaged', 'not a tag']).toContain(readTagText(text, 5).kind);
      }),
      { seed: 20261125 },
    );
  });
});
