import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitMixedModel, type MixedModel } from '../../src/breeding/mixed-model.js';
import { normal, uniform } from '../../src/breeding/random.js';
import { rankPlants } from '../../src/breeding/ranking.js';

/** A model that knows each plant's worth exactly, but for `error`. */
function known(values: readonly number[], error = 0): MixedModel {
  return {
    variances: { family: 0, plant: 1, rest: 1 },
    mean: 0,
    meanError: 0,
    criterion: 0,
    families: [{ value: 0, variance: 0 }],
    plants: values.map((value) => ({ value, variance: error })),
  };
}

const oneFamily = (count: number) => new Array<number>(count).fill(0);
const all = (count: number) => Array.from({ length: count }, (_, plant) => plant);

describe('the ranking', () => {
  it('follows the weights, and turns round with a weight below 0', () => {
    const [sweet, large] = [known([3, 1, 2]), known([0, 9, 1])];
    const order = (a: number, b: number) =>
      rankPlants(
        [
          { model: sweet, weight: a },
          { model: large, weight: b },
        ],
        oneFamily(3),
        all(3),
        100,
      ).map(({ plant }) => plant);
    expect(order(1, 0)).toEqual([0, 2, 1]);
    expect(order(0, 1)).toEqual([1, 2, 0]);
    expect(order(-1, 0)).toEqual([1, 2, 0]);
    expect(order(1, 1)).toEqual([1, 0, 2]);
  });

  it('is sure where nothing is open, and unsure where all is', () => {
    const sure = rankPlants([{ model: known([3, 1, 2]), weight: 1 }], oneFamily(3), all(3), 100);
    for (const { rank, rankLow, rankHigh } of sure) expect([rankLow, rankHigh]).toEqual([rank, rank]);
    const unsure = rankPlants([{ model: known([0, 0, 0, 0], 1), weight: 1 }], oneFamily(4), all(4), 100);
    for (const { rankLow, rankHigh } of unsure) expect([rankLow, rankHigh]).toEqual([1, 4]);
  });

  it('ranks only those chosen, and the same in every run', () => {
    const weighed = [{ model: known([3, 1, 2], 0.5), weight: 1 }];
    const first = rankPlants(weighed, oneFamily(3), [1, 2], 100);
    expect(first.map(({ plant }) => plant)).toEqual([2, 1]);
    expect(rankPlants(weighed, oneFamily(3), [1, 2], 100)).toEqual(first);
    expect(rankPlants(weighed, oneFamily(3), [], 100)).toEqual([]);
    expect(rankPlants([], oneFamily(2), [0, 1], 100).map(({ score }) => score)).toEqual([0, 0]);
  });

  it('names as outdone just the plants that another equals or beats in everything', () => {
    const values = fc.array(fc.tuple(fc.integer({ min: 0, max: 4 }), fc.integer({ min: 0, max: 4 })), {
      minLength: 1,
      maxLength: 15,
    });
    fc.assert(
      fc.property(values, (pairs) => {
        const models = [known(pairs.map(([a]) => a)), known(pairs.map(([, b]) => b))];
        const ranked = rankPlants(
          models.map((model) => ({ model, weight: 1 })),
          oneFamily(pairs.length),
          all(pairs.length),
          100,
        );
        const beats = (other: number, plant: number) => {
          const [[a, b] = [0, 0], [c, d] = [0, 0]] = [pairs[other], pairs[plant]];
          return a >= c && b >= d && (a > c || b > d);
        };
        for (const { plant, outdoneBy } of ranked) {
          expect(outdoneBy !== null).toBe(pairs.some((_, other) => beats(other, plant)));
          if (outdoneBy !== null) expect(beats(outdoneBy, plant)).toBe(true);
        }
      }),
      { seed: 20261125 },
    );
  });

  it('keeps its promise: nine in ten true ranks are within the interval, from gardens of known truth', () => {
    const gauss = normal(7);
    let [within, count] = [0, 0];
    for (let garden = 0; garden < 25; garden++) {
      const familyOf = Array.from({ length: 48 }, (_, plant) => plant % 6);
      const families = familyOf.slice(0, 6).map(() => 0.8 * gauss());
      const truth = familyOf.map((family) => (families[family] as number) + gauss());
      const plant = truth.flatMap((_, own) => new Array<number>(1 + (own % 4)).fill(own));
      const value = plant.map((own) => 20 + (truth[own] as number) + gauss());
      const model = fitMixedModel({ plant, value, factors: [] }, familyOf);
      const ranked = rankPlants([{ model, weight: 1 }], familyOf, all(48), 100);
      const trueOrder = all(48).sort((a, b) => (truth[b] as number) - (truth[a] as number));
      for (const { plant, rankLow, rankHigh } of ranked) {
        const rank = trueOrder.indexOf(plant) + 1;
        count++;
        if (rank >= rankLow && rank <= rankHigh) within++;
      }
    }
    expect(within / count).toBeGreaterThan(0.87);
    expect(within / count).toBeLessThan(0.95);
  });
});

describe('random numbers', () => {
  it('have the moments of their distributions, and are the same for the same seed', () => {
    const count = 200_000;
    const [even, gauss] = [uniform(1), normal(1)];
    const evens = Array.from({ length: count }, even);
    const normals = Array.from({ length: count }, gauss);
    const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / count;
    // Five standard errors: 5·0.289/√n, 5/√n, 5·√2/√n.
    expect(Math.abs(mean(evens) - 0.5)).toBeLessThan(0.0033);
    expect(Math.abs(mean(normals))).toBeLessThan(0.0112);
    expect(Math.abs(mean(normals.map((value) => value ** 2)) - 1)).toBeLessThan(0.0159);
    const again = uniform(1);
    expect(Array.from({ length: 5 }, again)).toEqual(evens.slice(0, 5));
  });
});
