import { describe, expect, it } from 'vitest';
import { ageOn, typeInWords } from '../../src/web/page/words.js';

describe('the age of a plant', () => {
  // Worked by hand on a calendar.
  const ages: readonly (readonly [today: string, sown: string, age: string | null])[] = [
    ['2026-09-14', '2024-02-11', '2 years 7 months'],
    ['2026-09-10', '2024-02-11', '2 years 6 months'],
    ['2026-09-14', '2025-09-14', '1 year'],
    ['2026-09-13', '2025-09-14', '11 months'],
    ['2026-09-14', '2026-08-14', '1 month'],
    ['2026-09-13', '2026-08-14', 'under a month'],
    ['2026-03-01', '2025-12-31', '2 months'],
    ['2026-09-14', '2024-02', '2 years 7 months'],
    ['2026-09-14', '2024', null],
    ['2026-09-14', '2026-09-15', null],
  ];
  for (const [today, sown, age] of ages) {
    it(`sown ${sown}, on ${today}: ${age ?? 'not said'}`, () => expect(ageOn(today, sown)).toBe(age));
  }
});

describe('the type of a fig', () => {
  const open = { stated: null, called: null, toSettle: null };

  it('is open where nothing tells, and names the likeliest where something does', () => {
    const alike = { type: 'caducous caprifig', share: 0.2513 };
    expect(typeInWords({ ...open, nothingTells: true, shares: [alike] })).toBe('open; nothing tells yet');
    const likelier = { type: 'persistent female', share: 0.62 };
    expect(typeInWords({ ...open, nothingTells: false, shares: [likelier] })).toMatch(
      /persistent female, 62 %/,
    );
  });
});
