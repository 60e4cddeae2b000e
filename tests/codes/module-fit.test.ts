import { expect, test } from 'vitest';
import { dotsAtLeast, dotsWithin, fitModule } from '../../src/codes/module-fit.js';

test('a version 1 code with its quiet zones in 20 mm at 203 dpi', () => {
  // 20 mm are 159.84 dots, 5.51 a module for 29 modules: 5 dots or 0.6256 mm.
  expect(dotsWithin(20, 203)).toBe(159);
  expect(fitModule(29, 159, dotsAtLeast(0.5, 203))).toEqual({ kind: 'fits', moduleDots: 5 });
});

test('14.5 mm are refused at 203 dpi, and the room named would do', () => {
  // 0.5 mm are 3.996 dots, so 4; 29 modules of 4 dots are 116 dots or 14.514 mm; 14.5 mm are 115.89.
  const least = dotsAtLeast(0.5, 203);
  expect(least).toBe(4);
  expect(fitModule(29, dotsWithin(14.5, 203), least)).toEqual({ kind: 'too small', needsDots: 116 });
  expect(fitModule(29, 116, least)).toEqual({ kind: 'fits', moduleDots: 4 });
});

test('a whole number of dots stays that number in spite of binary rounding', () => {
  for (const dpi of [203, 300, 600, 1200]) {
    for (let dots = 1; dots < 400; dots++) {
      const mm = (dots * 25.4) / dpi;
      expect([dotsWithin(mm, dpi), dotsAtLeast(mm, dpi)]).toEqual([dots, dots]);
    }
  }
});

test('the answer fits and one more dot would not', () => {
  let fitted = 0;
  for (let room = 1; room < 1200; room++) {
    const fit = fitModule(31, room, 4);
    if (fit.kind === 'too small') {
      expect(room).toBeLessThan(fit.needsDots);
      continue;
    }
    fitted++;
    expect(31 * fit.moduleDots).toBeLessThanOrEqual(room);
    expect(31 * (fit.moduleDots + 1)).toBeGreaterThan(room);
  }
  expect(fitted).toBe(1200 - 31 * 4);
});
