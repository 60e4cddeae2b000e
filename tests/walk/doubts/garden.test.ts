import { describe, expect, it } from 'vitest';
import { WALK } from '../../../src/walk/parameters.js';
import { doubtsAbout } from '../../bench/doubts-figures.js';
import { seededRandom } from '../../support/random.js';
import { gardenOf, type Seen, seenOn } from './histories.js';

const DAYS = ['2025-04-20', '2025-08-20', '2026-04-20', '2026-08-20'];

/** Plants whose colour is one of four, seen on four days and wrong so often. */
function coloured(plants: number, wrong: number) {
  const random = seededRandom(20261125);
  const any = () => ['amber', 'rose', 'rose', 'violet'][random.below(4)] as string;
  return Array.from({ length: plants }, (_, index) => {
    const colour = any();
    const seen = DAYS.map((date) => [date, { colour: random.next() < wrong ? any() : colour }]);
    return seenOn(index + 1, Object.fromEntries(seen) as Seen);
  });
}

describe('how often a value is wrong', () => {
  it.each([0, 0.05, 0.2, 0.6])('is learned from the garden: %d', (wrong) => {
    const { garden } = gardenOf(coloured(4000, wrong));
    // 12,000 pairs: the standard error of their unlikeness is 0.005 at most, the rule's weight under 1 %.
    expect(Math.abs(garden.model('colour').wrong - wrong)).toBeLessThan(0.02);
  });

  it('is the rule where the garden shows nothing', () => {
    const { garden } = gardenOf([seenOn(1, { [DAYS[0] as string]: { colour: 'rose' } }), seenOn(2, {})]);
    expect(garden.model('colour').wrong).toBeCloseTo(WALK.valueWrong, 12);
  });

  it('a trait that is never twice the same contradicts nothing', async () => {
    let next = 0;
    const plants = Array.from({ length: 300 }, (_, index) =>
      seenOn(index + 1, Object.fromEntries(DAYS.map((date) => [date, { remark: `remark ${next++}` }]))),
    );
    expect(await doubtsAbout(plants)).toMatchObject({ doubts: [], contradictions: [] });
  });
});

describe('numbers', () => {
  const at = (value: number, date: string) => ({ value, day: Date.parse(date) / 86_400_000 });
  const [first, , third] = DAYS as [string, string, string];

  it('that scatter on one plant as over the garden say nothing', () => {
    const random = seededRandom(1);
    const plants = Array.from({ length: 300 }, (_, index) =>
      seenOn(index + 1, Object.fromEntries(DAYS.map((date) => [date, { brix: 17 + 2 * random.normal() }]))),
    );
    const { ratio } = gardenOf(plants).garden.model('brix');
    expect(ratio(at(17, first), at(17, third))).toBeCloseTo(1, 6);
    expect(ratio(at(13, first), at(21, third))).toBeCloseTo(1, 6);
  });

  it('heights that grew as others did fit, and one that shrank by half does not', () => {
    const random = seededRandom(2);
    const plants = Array.from({ length: 300 }, (_, index) => {
      const [height, growth] = [40 + 20 * random.normal(), 30 + 8 * random.normal()];
      return seenOn(index + 1, { [first]: { height }, [third]: { height: height + growth } });
    });
    const { ratio } = gardenOf(plants).garden.model('height');
    expect(ratio(at(40, first), at(70, third))).toBeGreaterThan(1.3);
    expect(ratio(at(70, first), at(35, third))).toBeLessThan(0.3);
  });
});
