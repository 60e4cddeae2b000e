/**
 * The statistics of breeding against published values, each with its source.
 */
import { describe, expect, it } from 'vitest';
import { chiSquareTail } from '../../src/breeding/distributions.js';
import { chiSquareTest, exactMultinomialTest } from '../../src/breeding/goodness-of-fit.js';
import { seedlingsFor } from '../../src/breeding/how-many.js';
import { clopperPearson, wilson } from '../../src/breeding/proportion.js';
import { kaplanMeier, logRank, median, type Waiting } from '../../src/breeding/survival.js';

describe('χ² critical values', () => {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper tail.
  const tails = [0.1, 0.05, 0.025, 0.01, 0.001];
  const table: readonly (readonly [df: number, ...values: number[]])[] = [
    [1, 2.706, 3.841, 5.024, 6.635, 10.828],
    [2, 4.605, 5.991, 7.378, 9.21, 13.816],
    [3, 6.251, 7.815, 9.348, 11.345, 16.266],
    [4, 7.779, 9.488, 11.143, 13.277, 18.467],
    [5, 9.236, 11.07, 12.833, 15.086, 20.515],
    [6, 10.645, 12.592, 14.449, 16.812, 22.458],
    [7, 12.017, 14.067, 16.013, 18.475, 24.322],
    [8, 13.362, 15.507, 17.535, 20.09, 26.124],
    [9, 14.684, 16.919, 19.023, 21.666, 27.877],
    [10, 15.987, 18.307, 20.483, 23.209, 29.588],
    [20, 28.412, 31.41, 34.17, 37.566, 45.315],
    [50, 63.167, 67.505, 71.42, 76.154, 86.661],
    [100, 118.498, 124.342, 129.561, 135.807, 149.449],
  ];
  for (const [df, ...values] of table) {
    it(`${df} degrees of freedom`, () => {
      values.forEach((value, index) => {
        // The table's three decimals: the true value is within half a thousandth.
        expect(chiSquareTail(value - 0.0005, df)).toBeGreaterThanOrEqual(tails[index] as number);
        expect(chiSquareTail(value + 0.0005, df)).toBeLessThanOrEqual(tails[index] as number);
      });
    });
  }

  // P(X ≥ x) with two degrees of freedom is exp(−x/2): 10⁻⁶⁵² at 3000, which no number holds.
  it('far out is nothing, and no error', () => {
    expect(chiSquareTail(1000, 2)).toBeCloseTo(Math.exp(-500), 230);
    expect(chiSquareTail(3000, 2)).toBe(0);
    expect(chiSquareTail(1e6, 280)).toBe(0);
  });
});

describe('Mendel 1866, 3 : 1', () => {
  // Counts: Mendel 1866, after a public reworking of Fisher 1936; χ² and p recomputed for the check values.
  const traits: readonly (readonly [string, number, number, number, number, number])[] = [
    ['seed shape', 5474, 1850, 0.2629, 0.6081, 0.6082],
    ['seed colour', 6022, 2001, 0.015, 0.9025, 0.9076],
    ['flower colour', 705, 224, 0.3907, 0.5319, 0.5446],
    ['pod shape', 882, 299, 0.0635, 0.801, 0.814],
    ['pod colour', 428, 152, 0.4506, 0.5021, 0.5022],
    ['flower position', 651, 207, 0.3497, 0.5543, 0.5811],
    ['stem length', 787, 277, 0.6065, 0.4361, 0.4362],
  ];
  for (const [trait, dominant, recessive, chi2, p, exact] of traits) {
    it(trait, () => {
      const test = chiSquareTest([dominant, recessive], [3 / 4, 1 / 4]);
      expect(test?.chi2).toBeCloseTo(chi2, 4);
      expect(test?.p).toBeCloseTo(p, 4);
      expect(exactMultinomialTest([dominant, recessive], [3 / 4, 1 / 4])).toBeCloseTo(exact, 4);
    });
  }

  it('two genes, 315 : 101 : 108 : 32 against 9 : 3 : 3 : 1', () => {
    const counts = [315, 101, 108, 32];
    const shares = [9 / 16, 3 / 16, 3 / 16, 1 / 16];
    // The R Book: χ² 0.470024, p 0.9254.
    expect(chiSquareTest(counts, shares)).toMatchObject({ df: 3, leastExpected: 34.75 });
    expect(chiSquareTest(counts, shares)?.chi2).toBeCloseTo(0.470024, 6);
    expect(chiSquareTest(counts, shares)?.p).toBeCloseTo(0.9254, 4);
    // Exact p by probability: 0.9382 (an R package's vignette, from memory; recomputed by full enumeration).
    expect(exactMultinomialTest(counts, shares)).toBeCloseTo(0.9382, 4);
  });

  it('a small one, 5 : 2 : 1 against 1 : 2 : 1: 0.0767 by probability', () => {
    // An R package's example, from memory; recomputed by enumeration for the check values.
    expect(exactMultinomialTest([5, 2, 1], [1 / 4, 1 / 2, 1 / 4])).toBeCloseTo(0.0767, 4);
  });

  it('682 of 925 against 3/4: exact p 0.3825 (Conover 1971, as in the help of R)', () => {
    expect(exactMultinomialTest([682, 243], [3 / 4, 1 / 4])).toBeCloseTo(0.3825, 4);
    const { low, high } = clopperPearson(682, 925);
    expect(low).toBeCloseTo(0.7076683, 6);
    expect(high).toBeCloseTo(0.7654066, 6);
  });
});

describe('fruit crosses against 1 : 1', () => {
  // Sour cherry, PMC1456217, table 3; the printed decimals.
  const cherries: readonly (readonly [number, number, number, number])[] = [
    [28, 26, 0.07, 0.7855],
    [23, 31, 1.19, 0.2763],
    [24, 35, 2.05, 0.1521],
    [36, 23, 2.86, 0.0906],
    [9, 16, 1.96, 0.1615],
    [20, 5, 9.0, 0.0027],
    [35, 29, 0.56, 0.4533],
    [60, 42, 3.18, 0.0747],
    [72, 63, 0.6, 0.4386],
  ];
  it('sour cherry', () => {
    for (const [a, b, chi2, p] of cherries) {
      const test = chiSquareTest([a, b], [0.5, 0.5]);
      expect(test?.chi2).toBeCloseTo(chi2, 2);
      expect(test?.p).toBeCloseTo(p, 4);
    }
  });

  it('pummelo, four classes: PMC7030955, table 1; exact p recomputed', () => {
    const test = chiSquareTest([22, 17, 15, 23], [0.25, 0.25, 0.25, 0.25]);
    expect(test?.chi2).toBeCloseTo(2.32, 2);
    expect(test?.p).toBeCloseTo(0.51, 2);
    expect(exactMultinomialTest([22, 17, 15, 23], [0.25, 0.25, 0.25, 0.25])).toBeCloseTo(0.5096, 4);
  });

  it('fig, 178 : 7 (Ikegami et al. 2021): far out in the tail; p recomputed', () => {
    const test = chiSquareTest([178, 7], [0.5, 0.5]);
    expect(test?.chi2).toBeCloseTo(158.06, 2);
    expect(Math.log10(test?.p as number)).toBeCloseTo(Math.log10(3e-36), 1);
    expect(Math.log10(exactMultinomialTest([178, 7], [0.5, 0.5]) as number)).toBeCloseTo(
      Math.log10(5.6e-44),
      1,
    );
  });
});

describe('one proportion', () => {
  // Newcombe, Statistics in Medicine 17:857 (1998), table I (from memory; recomputed).
  const newcombe: readonly (readonly [number, number, number, number, number, number])[] = [
    [81, 263, 0.2553, 0.3662, 0.2527, 0.3676],
    [15, 148, 0.0624, 0.1605, 0.0578, 0.1617],
    [0, 20, 0, 0.1611, 0, 0.1684],
    [1, 29, 0.0061, 0.1718, 0.0009, 0.1776],
  ];
  for (const [hits, of, wilsonLow, wilsonHigh, exactLow, exactHigh] of newcombe) {
    it(`${hits} of ${of}`, () => {
      expect(wilson(hits, of).low).toBeCloseTo(wilsonLow, 4);
      expect(wilson(hits, of).high).toBeCloseTo(wilsonHigh, 4);
      expect(clopperPearson(hits, of).low).toBeCloseTo(exactLow, 4);
      expect(clopperPearson(hits, of).high).toBeCloseTo(exactHigh, 4);
    });
  }

  it('7 of 50, Clopper–Pearson: documentation of SciPy', () => {
    expect(clopperPearson(7, 50).low).toBeCloseTo(0.058192, 6);
    expect(clopperPearson(7, 50).high).toBeCloseTo(0.267396, 6);
  });

  it('4 of 20 at 90 %: NIST/SEMATECH e-Handbook 7.2.4.1', () => {
    expect(clopperPearson(4, 20, 0.9).low).toBeCloseTo(0.071354, 6);
    expect(clopperPearson(4, 20, 0.9).high).toBeCloseTo(0.401028, 5);
  });
});

describe('Kaplan–Meier', () => {
  const waiting = (text: string): Waiting[] =>
    text.split(' ').map((word) => ({ time: Number.parseInt(word, 10), happened: !word.endsWith('+') }));

  // Freireich et al. 1963: weeks of remission, in Introductory Biostatistics, example 11.1.
  const DRUG = waiting('6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+');
  const PLACEBO = waiting('1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23');

  it('the drug arm: shares, Greenwood errors, log(−log) bands', () => {
    const table = [
      [6, 21, 3, 0.8571, 0.0764, 0.62, 0.952],
      [7, 17, 1, 0.8067, 0.0869, 0.563, 0.923],
      [10, 15, 1, 0.7529, 0.0963, 0.503, 0.889],
      [13, 12, 1, 0.6902, 0.1068, 0.432, 0.849],
      [16, 11, 1, 0.6275, 0.1141, 0.368, 0.805],
      [22, 7, 1, 0.5378, 0.1282, 0.268, 0.747],
      [23, 6, 1, 0.4482, 0.1346, 0.188, 0.68],
    ] as const;
    const steps = kaplanMeier(DRUG);
    expect(steps).toHaveLength(table.length);
    table.forEach(([time, atRisk, events, share, error, low, high], index) => {
      const step = steps[index];
      expect(step).toMatchObject({ time, atRisk, events });
      expect(step?.share).toBeCloseTo(share, 4);
      expect(step?.standardError).toBeCloseTo(error, 4);
      expect(step?.band?.low).toBeCloseTo(low, 3);
      expect(step?.band?.high).toBeCloseTo(high, 3);
    });
    // With the log(−log) scale: 13 to none.
    expect(median(steps)).toEqual({ time: 23, low: 13, high: null });
  });

  it('the placebo arm, nobody censored: down to 0, median 8 (4 to 11)', () => {
    const steps = kaplanMeier(PLACEBO);
    const shares = [0.9048, 0.8095, 0.7619, 0.6667, 0.5714, 0.381, 0.2857, 0.1905, 0.1429, 0.0952, 0.0476, 0];
    expect(steps.map(({ share }) => Number(share.toFixed(4)))).toEqual(shares);
    expect(steps.find(({ time }) => time === 8)?.standardError).toBeCloseTo(0.106, 3);
    expect(median(steps)).toEqual({ time: 8, low: 4, high: 11 });
  });

  it('a tie of what happened and who left counts what happened first: Bewick et al. 2004, table 2', () => {
    const steps = kaplanMeier(waiting('1 1 4 5 6+ 9 9+ 22'));
    expect(steps.map(({ share }) => Number(share.toFixed(3)))).toEqual([0.75, 0.625, 0.5, 0.333, 0]);
  });

  it('log-rank between the arms: 16.79, by the published table of Gehan 1965 (from memory; recomputed)', () => {
    const test = logRank([DRUG, PLACEBO]);
    expect(test?.chi2).toBeCloseTo(16.79, 2);
    expect(test?.df).toBe(1);
    // Observed 9 and 21, expected 19.25 and 10.75: the same textbooks, from memory.
    expect(test?.groups.map(({ observed }) => observed)).toEqual([9, 21]);
    expect(test?.groups[0]?.expected).toBeCloseTo(19.25, 2);
    expect(logRank([PLACEBO, DRUG])?.chi2).toBeCloseTo(test?.chi2 as number, 10);
  });
});

describe('how many plants', () => {
  // 1 − (1 − p)ⁿ ≥ P, smallest n: recomputed for the check values; Sedcole, Crop Sci. 17:667 (1977).
  const table: readonly (readonly [chance: number, ...n: number[]])[] = [
    [0.9, 4, 5, 9, 12, 18, 22, 36, 45, 73, 114, 147, 230, 589],
    [0.95, 5, 7, 11, 15, 23, 29, 47, 59, 95, 149, 191, 299, 766],
    [0.99, 7, 10, 17, 23, 35, 44, 72, 90, 146, 228, 293, 459, 1177],
  ];
  const shares = [1 / 2, 3 / 8, 1 / 4, 3 / 16, 1 / 8, 0.1, 1 / 16, 0.05, 1 / 32, 0.02, 1 / 64, 0.01, 1 / 256];
  for (const [chance, ...numbers] of table) {
    it(`for a chance of ${chance}`, () => {
      expect(shares.map((share) => seedlingsFor(share, chance))).toEqual(numbers);
    });
  }
});
