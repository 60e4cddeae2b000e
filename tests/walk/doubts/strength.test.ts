import { expect, it } from 'vitest';
import { strengthOf } from '../../../src/walk/doubts/strength.js';

/**
 * Kass & Raftery 1995, J. Am. Stat. Assoc. 90:773, scale in section 3.2 (read in the manual of the R package
 * pcal): 2 ln B from 0 to 2, 2 to 6, 6 to 10, above 10; B from 1 to 3, 3 to 20, 20 to 150, above 150.
 */
it.each([
  [0.9, 'no evidence'],
  [1, 'not worth more than a mention'],
  [2.9, 'not worth more than a mention'],
  [3.1, 'positive'],
  [19.9, 'positive'],
  [20.1, 'strong'],
  [149, 'strong'],
  [151, 'very strong'],
  [Number.MAX_VALUE, 'very strong'],
])('a Bayes factor of %d: %s', (factor, strength) => {
  expect(strengthOf(Math.log(factor))).toBe(strength);
});
