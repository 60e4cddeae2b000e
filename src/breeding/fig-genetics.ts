/**
 * How figs pass on sex and persistence, and what a family says of its pollen parent.
 *
 * Storey 1975 (in Advances in Fruit Breeding, 568–589): a female carries no male factor, a caprifig one or
 * two; persistence is dominant and lethal in the egg, so that it comes through pollen only, and no tree has
 * it twice. That sex and persistence are passed on independently is an assumption: nobody read says it.
 */
import type { PerType } from '../observe/type-likelihoods.js';
import { ALIKE, added, dot, multiplied, normalised, of, scaled } from './per-type.js';

/** What is believed of a caprifig before its offspring are looked at. */
export interface PollenParent {
  /** P(it carries persistence). */
  readonly carriesPersistence: number;
  /** P(it carries the male factor twice: all its offspring are caprifigs). */
  readonly isMaleTwice: number;
}

/**
 * One of 13 families of Ikegami et al. (Front. Plant Sci. 12:647599, 2021) was not 1 : 1 but 178 males to
 * 7 females.
 */
const MALE_TWICE = 1 / 13;

/**
 * Share of seedlings that stray pollen or an exchanged label gave other parents (our judgement for crosses
 * made by hand; Padi et al. 2015 found far more in cacao). So one female among many caprifigs does not quite
 * prove that the male factor is there once.
 */
const STRAY = 0.01;

/** @param belief P(type) of the tree before it is known that it gave pollen, which only caprifigs do */
export function pollenParentPrior(belief: PerType): PollenParent {
  const [, , persistent, caducous] = belief;
  return { carriesPersistence: persistent / (persistent + caducous), isMaleTwice: MALE_TWICE };
}

/**
 * Expected shares of the types, in the order of `FIG_TYPES`, all seedlings being of this cross.
 * @param maleEggs share of the seed parent's eggs with the male factor: 0 of a female, a half of a caprifig
 */
export function typeShares(pollen: PollenParent, maleEggs: number): PerType {
  const pollenMale = pollen.isMaleTwice + (1 - pollen.isMaleTwice) / 2;
  const female = (1 - pollenMale) * (1 - maleEggs);
  const persistent = pollen.carriesPersistence / 2;
  return [
    female * persistent,
    female * (1 - persistent),
    (1 - female) * persistent,
    (1 - female) * (1 - persistent),
  ];
}

/** What one seedling is before it is looked at, strays counted in. */
function seedlingPrior(pollen: PollenParent, isSeedParentCaprifig: boolean): PerType {
  const maleEggs = isSeedParentCaprifig ? MALE_TWICE + (1 - MALE_TWICE) / 2 : 0;
  return added(scaled(typeShares(pollen, maleEggs), 1 - STRAY), scaled(ALIKE, STRAY));
}

/** A seedling of the pollen parent: P(what was seen on it | type), times any constant. */
export interface Offspring {
  readonly likelihood: PerType;
  readonly isSeedParentCaprifig: boolean;
}

interface Hypothesis {
  readonly genotype: PollenParent;
  readonly logWeight: number;
}

/** What is believed of a pollen parent after some of its offspring: a weight for each of four genotypes. */
export class PollenParentEvidence {
  private constructor(private readonly hypotheses: readonly Hypothesis[]) {}

  static before(prior: PollenParent): PollenParentEvidence {
    const logOf = (isSo: number, probability: number) => Math.log(isSo ? probability : 1 - probability);
    const hypotheses = [0, 1].flatMap((carriesPersistence) =>
      [0, 1].map((isMaleTwice) => ({
        genotype: { carriesPersistence, isMaleTwice },
        logWeight:
          logOf(carriesPersistence, prior.carriesPersistence) + logOf(isMaleTwice, prior.isMaleTwice),
      })),
    );
    return new PollenParentEvidence(hypotheses);
  }

  /** With one more seedling; seedlings are independent, given the genotype. */
  with(offspring: Offspring): PollenParentEvidence {
    return this.#weighed(offspring, 1);
  }

  /** Without a seedling that was taken in. */
  without(offspring: Offspring): PollenParentEvidence {
    return this.#weighed(offspring, -1);
  }

  believed(): PollenParent {
    const mean = (factor: keyof PollenParent) =>
      this.#weighted().reduce((sum, { genotype, weight }) => sum + weight * genotype[factor], 0);
    return { carriesPersistence: mean('carriesPersistence'), isMaleTwice: mean('isMaleTwice') };
  }

  /** P(type) of a seedling that was taken in. */
  typeOf({ likelihood, isSeedParentCaprifig }: Offspring): PerType {
    let posterior: PerType = [0, 0, 0, 0];
    for (const { genotype, weight } of this.#weighted()) {
      const joint = multiplied(seedlingPrior(genotype, isSeedParentCaprifig), likelihood);
      posterior = added(posterior, scaled(normalised(joint), weight));
    }
    return posterior;
  }

  /** P(no seedling of `n` is of this type), strays left out. */
  chanceOfNone(n: number, type: number, maleEggs: number): number {
    return this.#weighted().reduce(
      (sum, { genotype, weight }) => sum + weight * (1 - of(typeShares(genotype, maleEggs), type)) ** n,
      0,
    );
  }

  #weighed({ likelihood, isSeedParentCaprifig }: Offspring, sign: 1 | -1): PollenParentEvidence {
    return new PollenParentEvidence(
      this.hypotheses.map(({ genotype, logWeight }) => {
        const probability = dot(seedlingPrior(genotype, isSeedParentCaprifig), likelihood);
        return { genotype, logWeight: logWeight + sign * Math.log(probability) };
      }),
    );
  }

  #weighted(): { genotype: PollenParent; weight: number }[] {
    const most = Math.max(...this.hypotheses.map(({ logWeight }) => logWeight));
    const weights = this.hypotheses.map(({ logWeight }) => Math.exp(logWeight - most));
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    return this.hypotheses.map(({ genotype }, index) => ({
      genotype,
      weight: (weights[index] as number) / total,
    }));
  }
}
