/**
 * Walks through gardens of known truth, small and of fixed seeds; `npm run bench` takes larger and fresh ones.
 * The bars are those of the design, section 10, with the sampling error of so few pots allowed for.
 */
import { describe, expect, it } from 'vitest';
import { brierScore, type Figures, figuresOf, type Share } from '../bench/walk-figures.js';
import { LOSS_AND_EXCHANGE, STORM } from '../bench/walk-simulator.js';

const share = ({ right, of }: Share) => right / of;

describe('with 1 % of the tags lost and 1 % exchanged', () => {
  it('findings and proposals are right', async () => {
    const figures = await figuresOf(3, 1000, LOSS_AND_EXCHANGE, 20261125);
    expect(figures.proposals.of).toBeGreaterThan(15);
    expect(share(figures.findings)).toBeGreaterThan(0.99);
    expect(share(figures.proposals)).toBeGreaterThanOrEqual(0.95);
    expect(share(figures.recovered)).toBeGreaterThanOrEqual(0.95);
  });
});

describe('after a storm', () => {
  let figures: Figures;
  it('of what is proposed, 19 in 20 are right', async () => {
    figures = await figuresOf(12, 400, STORM, 20261125);
    expect(figures.proposals.of).toBeGreaterThan(150);
    expect(share(figures.proposals)).toBeGreaterThan(0.95);
    expect(share(figures.findings)).toBeGreaterThan(0.98);
  });

  it('more plants are known again than by the nearest missing one, or by traits alone', () => {
    expect(share(figures.likeliest)).toBeGreaterThan(share(figures.nearestMissing));
    expect(share(figures.likeliest)).toBeGreaterThan(2 * share(figures.traitsAlone));
  });

  it('the probabilities mean what they say: better than any one share said of all', () => {
    const right = figures.said.filter(({ isRight }) => isRight).length / figures.said.length;
    expect(brierScore(figures.said)).toBeLessThan(0.8 * right * (1 - right));
  });

  it('what is said to be sure is', () => {
    const sure = figures.said.filter(({ probability }) => probability >= 0.99);
    expect(sure.length).toBeGreaterThan(100);
    expect(sure.filter(({ isRight }) => !isRight).length).toBeLessThanOrEqual(0.015 * sure.length);
  });
});
