/**
 * The mixed model against published fits.
 */
import { describe, expect, it } from 'vitest';
import { fitMixedModel } from '../../src/breeding/mixed-model.js';

describe('Dyestuff: six batches of five (Davies 1949; Box & Tiao 1973)', () => {
  const BATCHES = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
  ];
  const measurements = {
    plant: BATCHES.flatMap((values, plant) => values.map(() => plant)),
    value: BATCHES.flat(),
    factors: [],
  };

  it('batches as plants of one family: REML variances 1764.05 and 2451.25, and the predictions', () => {
    // The variances are in the help of R's lme4 as 1764 and 2451; predictions recomputed for the check values.
    const model = fitMixedModel(measurements, [0, 0, 0, 0, 0, 0], { familyRatio: 0 });
    expect(model.mean).toBeCloseTo(1527.5, 6);
    expect(model.variances.plant).toBeCloseTo(1764.05, 1);
    expect(model.variances.rest).toBeCloseTo(2451.25, 1);
    const predicted = [-17.607, 0.391, 28.562, -23.085, 56.733, -44.995];
    model.plants.forEach(({ value }, index) => {
      expect(value).toBeCloseTo(predicted[index] as number, 2);
    });
  });

  it('batches as families of one plant each give the same', () => {
    const model = fitMixedModel(measurements, [0, 1, 2, 3, 4, 5], { plantRatio: 0 });
    expect(model.variances.family).toBeCloseTo(1764.05, 1);
    expect(model.families[4]?.value).toBeCloseTo(56.733, 2);
  });
});

describe('Pastes: ten batches of three casks of two (Davies & Goldsmith 1972, in R’s lme4)', () => {
  const STRENGTH = [
    62.8, 62.6, 60.1, 62.3, 62.7, 63.1, 60.0, 61.4, 57.5, 56.9, 61.1, 58.9, 58.7, 57.5, 63.9, 63.1, 65.4,
    63.7, 57.1, 56.4, 56.9, 58.6, 64.7, 64.5, 55.1, 55.1, 54.7, 54.2, 58.8, 57.5, 63.4, 64.9, 59.3, 58.1,
    60.5, 60.0, 62.5, 62.6, 61.0, 58.7, 56.9, 57.7, 59.2, 59.4, 65.2, 66.0, 64.8, 64.1, 54.8, 54.8, 64.0,
    64.0, 57.7, 56.8, 58.3, 59.3, 59.2, 59.2, 58.9, 56.6,
  ];
  const measurements = {
    plant: STRENGTH.map((_, index) => Math.floor(index / 2)),
    value: STRENGTH,
    factors: [],
  };
  const familyOf = Array.from({ length: 30 }, (_, cask) => Math.floor(cask / 3));

  it('casks within batches: the REML fit of R, as quoted in the tests of statsmodels', () => {
    const model = fitMixedModel(measurements, familyOf);
    expect(model.mean).toBeCloseTo(60.0533, 4);
    expect(model.meanError).toBeCloseTo(0.6769, 4);
    expect(model.variances.family).toBeCloseTo(1.657, 3);
    expect(model.variances.rest).toBeCloseTo(0.678, 3);
    // The casks' variance: lme4's own documentation, from memory.
    expect(model.variances.plant).toBeCloseTo(8.434, 3);
    // ln L −123.49.
    expect(model.criterion).toBeCloseTo(2 * 123.49, 1);
    const fitted = [62.62866, 61.18663, 62.82094];
    fitted.forEach((value, cask) => {
      const deviation = (model.families[0]?.value ?? 0) + (model.plants[cask]?.value ?? 0);
      expect(model.mean + deviation).toBeCloseTo(value, 4);
    });
  });
});

describe('an unbalanced one, by the mixed model equations written out', () => {
  // Two years (the second 3 higher), two families; variances given, so that the equations of Henderson can be
  // solved as they stand: [X′X X′Z; Z′X Z′Z + G⁻¹] [b; u] = [X′y; Z′y].
  const familyOf = [0, 0, 1, 1, 1];
  const seen = [
    { plant: 0, value: 17, year: 0 },
    { plant: 0, value: 21, year: 1 },
    { plant: 1, value: 15, year: 0 },
    { plant: 2, value: 22, year: 1 },
    { plant: 2, value: 18, year: 0 },
    { plant: 2, value: 24, year: 1 },
    { plant: 3, value: 20, year: 1 },
  ];

  it('agrees with them, and predicts an unmeasured plant at its family', () => {
    const [familyRatio, plantRatio] = [0.5, 2];
    const measurements = {
      plant: seen.map(({ plant }) => plant),
      value: seen.map(({ value }) => value),
      factors: [seen.map(({ year }) => year)],
    };
    const model = fitMixedModel(measurements, familyOf, { familyRatio, plantRatio });
    const rows = seen.map(({ plant, year }) => {
      const row = new Array<number>(9).fill(0);
      row[0] = 1;
      row[1] = year;
      row[2 + (familyOf[plant] as number)] = 1;
      row[4 + plant] = 1;
      return row;
    });
    const matrix = Array.from({ length: 9 }, (_, i) =>
      Array.from({ length: 9 }, (__, j) => {
        const penalty = i !== j || i < 2 ? 0 : i < 4 ? 1 / familyRatio : 1 / plantRatio;
        return rows.reduce((sum, row) => sum + (row[i] as number) * (row[j] as number), penalty);
      }),
    );
    const right = Array.from({ length: 9 }, (_, i) =>
      rows.reduce((sum, row, k) => sum + (row[i] as number) * (seen[k]?.value ?? 0), 0),
    );
    const solution = gauss(matrix, right);
    model.families.forEach(({ value }, family) => {
      expect(value).toBeCloseTo(solution[2 + family] as number, 8);
    });
    model.plants.forEach(({ value }, plant) => {
      expect(value).toBeCloseTo(solution[4 + plant] as number, 8);
    });
    expect(model.plants[4]?.value).toBe(0);
    expect(model.plants[4]?.variance).toBeCloseTo(model.variances.plant, 10);
  });
});

/** Gauss–Jordan with pivoting, sharing nothing with the code under test. */
function gauss(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const rows = matrix.map((row, i) => [...row, right[i] as number]);
  for (let i = 0; i < rows.length; i++) {
    const pivot = rows
      .slice(i)
      .reduce(
        (most, row, k) =>
          Math.abs(row[i] as number) > Math.abs((rows[most] as number[])[i] as number) ? i + k : most,
        i,
      );
    [rows[i], rows[pivot]] = [rows[pivot] as number[], rows[i] as number[]];
    const own = (rows[i] as number[]).map((value) => value / ((rows[i] as number[])[i] as number));
    rows[i] = own;
    rows.forEach((row, k) => {
      const factor = row[i] as number;
      if (k !== i) rows[k] = row.map((value, column) => value - factor * (own[column] as number));
    });
  }
  return rows.map((row) => row.at(-1) as number);
}
