import { describe, expect, it } from 'vitest';
import { seededRandom } from './random.js';

const COUNT = 20_000;
const draws = (draw: () => number): number[] => Array.from({ length: COUNT }, draw);
const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

describe('seededRandom', () => {
  it('repeats itself for one seed and for no other', () => {
    const first = seededRandom(7);
    const again = seededRandom(7);
    const other = seededRandom(8);
    const sequence = draws(() => first.next());
    expect(draws(() => again.next())).toEqual(sequence);
    expect(draws(() => other.next()).filter((value, index) => value === sequence[index]).length).toBeLessThan(
      3,
    );
  });

  it('is uniform: every twentieth of [0, 1) gets its share, within four standard deviations', () => {
    const random = seededRandom(1);
    const bins = Array.from({ length: 20 }, () => 0);
    for (const value of draws(() => random.next()))
      bins[Math.floor(20 * value)] = (bins[Math.floor(20 * value)] ?? 0) + 1;
    const sd = Math.sqrt(COUNT * 0.05 * 0.95);
    for (const count of bins) expect(Math.abs(count - COUNT / 20)).toBeLessThan(4 * sd);
  });

  it('gives normal values of mean 0 and variance 1, a third of them beyond one', () => {
    const random = seededRandom(2);
    const values = draws(() => random.normal());
    expect(mean(values)).toBeCloseTo(0, 1);
    expect(mean(values.map((value) => value * value))).toBeCloseTo(1, 1);
    // P(|z| > 1) = 0.3173 (any table of the normal distribution).
    expect(values.filter((value) => Math.abs(value) > 1).length / COUNT).toBeCloseTo(0.3173, 1);
  });

  it('keeps within its bounds', () => {
    const random = seededRandom(3);
    const wholes = new Set(draws(() => random.below(6)));
    expect([...wholes].sort()).toEqual([0, 1, 2, 3, 4, 5]);
    const reals = draws(() => random.between(-2, 5));
    expect(Math.min(...reals)).toBeGreaterThanOrEqual(-2);
    expect(Math.max(...reals)).toBeLessThan(5);
    expect(mean(reals)).toBeCloseTo(1.5, 0);
  });
});
