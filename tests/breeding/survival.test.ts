import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { kaplanMeier, logRank, median, type Waiting } from '../../src/breeding/survival.js';

const waiting: fc.Arbitrary<Waiting[]> = fc.array(
  fc.record({ time: fc.integer({ min: 1, max: 12 }), happened: fc.boolean() }),
  { maxLength: 40 },
);

describe('Kaplan–Meier', () => {
  it('falls from step to step within 0 and 1, its band around it', () => {
    fc.assert(
      fc.property(waiting, (plants) => {
        let before = 1;
        for (const { share, band, atRisk, events } of kaplanMeier(plants)) {
          expect(share).toBeLessThan(before);
          expect(share).toBeGreaterThanOrEqual(0);
          expect(events).toBeLessThanOrEqual(atRisk);
          if (band !== null) {
            expect(band.low).toBeLessThanOrEqual(share);
            expect(band.high).toBeGreaterThanOrEqual(share);
          }
          before = share;
        }
      }),
      { seed: 20261125 },
    );
  });

  it('without censoring is the share still waiting', () => {
    const steps = kaplanMeier([3, 1, 2, 2].map((time) => ({ time, happened: true })));
    expect(steps.map(({ share }) => share)).toEqual([0.75, 0.25, 0]);
  });

  it('of nothing, and of nobody to whom it happened, has no steps and no median', () => {
    expect(kaplanMeier([])).toEqual([]);
    const steps = kaplanMeier([{ time: 4, happened: false }]);
    expect(steps).toEqual([]);
    expect(median(steps)).toEqual({ time: null, low: null, high: null });
  });
});

describe('the log-rank test', () => {
  it('finds nothing between a group and itself, and does not mind the order of three', () => {
    fc.assert(
      fc.property(waiting, waiting, waiting, (a, b, c) => {
        const same = logRank([a, a]);
        if (same !== undefined) expect(same.chi2).toBeCloseTo(0, 8);
        const [abc, cab] = [logRank([a, b, c]), logRank([c, a, b])];
        expect(abc === undefined).toBe(cab === undefined);
        if (abc !== undefined) expect(abc.chi2).toBeCloseTo(cab?.chi2 as number, 6);
      }),
      { seed: 20261125 },
    );
  });

  it('says nothing if nothing happened or there is one group', () => {
    const still = [{ time: 3, happened: false }];
    expect(logRank([still, still])).toBeUndefined();
    expect(logRank([[{ time: 1, happened: true }]])).toBeUndefined();
  });
});
