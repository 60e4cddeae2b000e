/**
 * Turnbull's estimate against a published one.
 */
import { describe, expect, it } from 'vitest';
import { type Between, shareBy, turnbull } from '../../src/breeding/turnbull.js';

describe('breast cosmesis after radiotherapy (Finkelstein & Wolfe, Biometrics 41:933, 1985)', () => {
  // 46 women, months between two visits; as data set `cosmesis` of several R packages.
  const INTERVALS = `45- 25-37 37- 6-10 46- 0-5 0-7 26-40 18- 46- 46- 24- 46- 27-34 36- 7-16 36-44 5-11 17- 46- 19-35
    7-14 36-48 17-25 37-44 37- 24- 0-8 40- 32- 4-11 17-25 33- 15- 46- 19-26 11-15 11-18 37- 22- 38- 34- 46- 5-12 36-
    46-`;
  const times: Between[] = INTERVALS.trim()
    .split(/\s+/)
    .map((text) => {
      const [after = '', until = ''] = text.split('-');
      return { after: Number(after), until: until === '' ? Infinity : Number(until) };
    });

  it('agrees with the published fit (Fay & Shaw, J. Stat. Software 36(2), 2010; from memory)', () => {
    expect(times).toHaveLength(46);
    const published = [
      [4, 5, 0.0463],
      [6, 7, 0.0334],
      [7, 8, 0.0887],
      [11, 12, 0.0708],
      [24, 25, 0.0926],
      [33, 34, 0.0818],
      [38, 40, 0.1209],
      [46, 48, 0.4656],
    ] as const;
    const masses = turnbull(times).filter(({ share }) => share > 1e-6);
    expect(masses.map(({ after, until }) => [after, until])).toEqual(
      published.map(([after, until]) => [after, until]),
    );
    masses.forEach(({ share }, index) => {
      expect(share).toBeCloseTo(published[index]?.[2] as number, 4);
    });
  });
});

describe('by hand', () => {
  it('exact looks give each time its share, with all else of one sample', () => {
    const masses = turnbull([1, 2, 2, 5].map((day) => ({ after: day - 1, until: day })));
    expect(masses.map(({ after, until, share }) => [after, until, Number(share.toFixed(9))])).toEqual([
      [0, 1, 0.25],
      [1, 2, 0.5],
      [4, 5, 0.25],
    ]);
    expect(shareBy(masses, 1.5)).toBeCloseTo(0.5, 9);
    expect(shareBy(masses, 3)).toBeCloseTo(0.75, 9);
  });

  it('right-censored times give the estimate of Kaplan and Meier: Bewick et al. 2004, table 2', () => {
    const times = [1, 1, 4, 5, 9, 22].map((day) => ({ after: day - 1, until: day }));
    const censored = [6, 9].map((day) => ({ after: day, until: Infinity }));
    const masses = turnbull([...times, ...censored]);
    const published = [
      [1, 0.75],
      [4, 0.625],
      [5, 0.5],
      [9, 0.333],
      [22, 0],
    ] as const;
    for (const [day, share] of published) expect(1 - shareBy(masses, day)).toBeCloseTo(share, 3);
  });

  it('of two that overlap all lies where they do; of nothing nothing', () => {
    expect(
      turnbull([
        { after: 0, until: 6 },
        { after: 4, until: 9 },
      ]),
    ).toEqual([{ after: 4, until: 6, share: 1 }]);
    expect(turnbull([])).toEqual([]);
  });
});
