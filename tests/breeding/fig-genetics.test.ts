import { describe, expect, it } from 'vitest';
import {
  type PollenParent,
  PollenParentEvidence,
  pollenParentPrior,
  typeShares,
} from '../../src/breeding/fig-genetics.js';
import type { PerType } from '../../src/observe/type-likelihoods.js';

const genotype = (carriesPersistence: number, isMaleTwice: number): PollenParent => ({
  carriesPersistence,
  isMaleTwice,
});

/** What stamens, pulp and a fruit held or dropped say, told exactly. */
const FEMALE: PerType = [1, 1, 0.005, 0.005];
const MALE: PerType = [0.005, 0.005, 1, 1];
const PERSISTENT: PerType = [1, 0.02, 1, 0.02];

const PERSISTENT_CAPRIFIG: PerType = [0.01, 0.01, 0.97, 0.01];
const UNKNOWN: PerType = [0.25, 0.25, 0.25, 0.25];

function family(prior: PollenParent, offspring: readonly PerType[], isSeedParentCaprifig = false) {
  return offspring.reduce(
    (evidence, likelihood) => evidence.with({ likelihood, isSeedParentCaprifig }),
    PollenParentEvidence.before(prior),
  );
}

describe('expected shares, after Storey 1975 (table 5.2 of the check values)', () => {
  const crosses: readonly (readonly [what: string, PollenParent, PerType])[] = [
    ['GA/ga, P+', genotype(1, 0), [1 / 4, 1 / 4, 1 / 4, 1 / 4]],
    ['GA/ga, ++', genotype(0, 0), [0, 1 / 2, 0, 1 / 2]],
    ['GA/GA, P+', genotype(1, 1), [0, 0, 1 / 2, 1 / 2]],
    ['GA/GA, ++', genotype(0, 1), [0, 0, 0, 1]],
  ];
  for (const [what, pollen, shares] of crosses) {
    it(`of a female × ${what}`, () => expect(typeShares(pollen, 0)).toEqual(shares));
  }

  it('of two caprifigs, both GA/ga: three caprifigs to one female', () => {
    const [a, b] = typeShares(genotype(0, 0), 1 / 2);
    expect(a + b).toBe(1 / 4);
  });
});

describe('what a family says of its pollen parent', () => {
  // Ikegami et al. 2021: one family had 178 males and 7 females. No 1 : 1 gives that; a male factor twice
  // with a few strays does.
  it('178 caprifigs to 7 females: male twice, the females being strays', () => {
    const offspring = [...Array<PerType>(178).fill(MALE), ...Array<PerType>(7).fill(FEMALE)];
    const believed = family(pollenParentPrior(PERSISTENT_CAPRIFIG), offspring).believed();
    expect(believed.isMaleTwice).toBeGreaterThan(0.999);
  });

  it('one female disproves it, unless so many caprifigs stand against her that she is rather a stray', () => {
    const isMaleTwice = (males: number, females: number) => {
      const offspring = [...Array<PerType>(males).fill(MALE), ...Array<PerType>(females).fill(FEMALE)];
      return family(pollenParentPrior(PERSISTENT_CAPRIFIG), offspring).believed().isMaleTwice;
    };
    expect(isMaleTwice(5, 0)).toBeGreaterThan(0.6);
    expect(isMaleTwice(5, 1)).toBeLessThan(0.1);
    expect(isMaleTwice(12, 0)).toBeGreaterThan(0.99);
    expect(isMaleTwice(12, 3)).toBeLessThan(0.05);
  });

  it('half and half: not male twice', () => {
    const evenly = [MALE, FEMALE, MALE, FEMALE];
    expect(family(pollenParentPrior(UNKNOWN), evenly).believed().isMaleTwice).toBeLessThan(0.001);
  });

  it('one sibling that holds unpollinated fruit says that an unknown pollen parent carries persistence', () => {
    const prior = pollenParentPrior(UNKNOWN);
    expect(prior.carriesPersistence).toBe(0.5);
    expect(family(prior, [PERSISTENT, PERSISTENT]).believed().carriesPersistence).toBeGreaterThan(0.95);
  });

  it('leaves a seedling that nothing was seen on at its prior, strays counted in', () => {
    const nothing = { likelihood: [1, 1, 1, 1] as PerType, isSeedParentCaprifig: false };
    const evidence = PollenParentEvidence.before(genotype(1, 0)).with(nothing);
    for (const share of evidence.typeOf(nothing)) expect(share).toBeCloseTo(0.25, 10);
  });

  it('two persistent siblings turn a seedling that dropped all its fruit no less caducous', () => {
    const held = family(pollenParentPrior(UNKNOWN), [PERSISTENT, PERSISTENT, FEMALE]);
    const dropped = { likelihood: [0.2, 0.97, 0.2, 0.97] as PerType, isSeedParentCaprifig: false };
    const posterior = held.with(dropped).typeOf(dropped);
    expect(posterior.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12);
    expect(posterior[1] + posterior[3]).toBeGreaterThan(0.8);
  });
});
