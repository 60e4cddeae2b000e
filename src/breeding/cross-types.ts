/**
 * The types of all figs of a survey, each family's pollen parent judged from its offspring.
 */

import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import { FIG_TYPES, type PerType } from '../observe/type-likelihoods.js';
import {
  type Offspring,
  type PollenParent,
  PollenParentEvidence,
  pollenParentPrior,
  typeShares,
} from './fig-genetics.js';
import { SIBLINGS_ENOUGH } from './fig-types.js';
import { CHANCE, leastWith } from './how-many.js';
import { CALLED_FROM, calledType } from './judged-type.js';
import { ParentTypes, statedLikelihood } from './parent-types.js';
import { likelihoodOf, multiplied, perType } from './per-type.js';
import type { CrossTally, FigSeen } from './survey.js';

/** What is expected of a cross before its seedlings are looked at. */
export interface ExpectedTypes {
  /** In the order of `FIG_TYPES`; null if it is not known whether the pollen parent carries persistence. */
  readonly types: PerType | null;
  readonly female: number;
}

export interface CrossTypes {
  /** Seedlings called, in the order of `FIG_TYPES`. */
  readonly called: PerType;
  /** Of those that showed something of their type. */
  readonly open: number;
  /** Called by their sex alone, whatever their persistence. */
  readonly females: number;
  readonly caprifigs: number;
  readonly expected: ExpectedTypes;
  /** What is believed of the pollen parent with its offspring; null where none is named. */
  readonly pollenParent: PollenParent | null;
  /**
   * Seedlings to raise to fruit for a 95 % chance of a persistent female, by the genetics and what the
   * offspring say of the pollen parent; null if it may well pass no persistence on, or only the male factor.
   */
  readonly forPersistentFemale: number | null;
  /** P(type) of each seedling that showed something of it. */
  readonly posteriors: ReadonlyMap<PlantId, PerType>;
}

/** A pollen parent's persistence is taken for known from here on. */
const KNOWN_FROM = 0.9;

const PERSISTENT_FEMALE = FIG_TYPES.indexOf('persistent female');

/** The types of each cross of figs. */
export async function typesOfCrosses(
  ledger: LedgerReader,
  tallies: readonly CrossTally[],
): Promise<Map<CrossTally, CrossTypes>> {
  const parents = new ParentTypes(ledger);
  const types = new Map<CrossTally, CrossTypes>();
  for (const [pollenParent, crosses] of byPollenParent(tallies)) {
    const prior = pollenParentPrior(await parents.of(pollenParent));
    const seedParents = new Map<CrossTally, boolean>();
    for (const cross of crosses) seedParents.set(cross, await parents.isCaprifig(cross.seedParent));
    const family = new Family(prior, pollenParent !== null, seedParents);
    for (const cross of crosses) {
      const maleEggs = seedParents.get(cross) ? 1 / 2 : 0;
      const posteriors = new Map(cross.figs.map((fig) => [fig.id, family.typeOf(fig, cross)]));
      types.set(cross, {
        posteriors,
        ...countCalls([...posteriors.values()]),
        expected: expectedTypes(prior, maleEggs),
        forPersistentFemale: leastWith(
          (n) => family.evidence.chanceOfNone(n, PERSISTENT_FEMALE, maleEggs) <= 1 - CHANCE,
        ),
        pollenParent: pollenParent === null ? null : family.evidence.believed(),
      });
    }
  }
  return types;
}

/** The seedlings of one pollen parent, the first of which tell its genotype. */
class Family {
  readonly evidence: PollenParentEvidence;
  readonly #telling = new Set<PlantId>();

  constructor(
    prior: PollenParent,
    isOneTree: boolean,
    private readonly seedParents: ReadonlyMap<CrossTally, boolean>,
  ) {
    // Without a name the pollen came from who knows how many trees: no seedling tells of another's.
    const figs = isOneTree
      ? [...seedParents.keys()].flatMap((cross) => cross.figs.map((fig) => ({ fig, cross })))
      : [];
    let evidence = PollenParentEvidence.before(prior);
    for (const { fig, cross } of figs.sort((a, b) => a.fig.number - b.fig.number).slice(0, SIBLINGS_ENOUGH)) {
      evidence = evidence.with(this.#offspring(fig, cross, fig.ownLogLikelihood));
      this.#telling.add(fig.id);
    }
    this.evidence = evidence;
  }

  typeOf(fig: FigSeen, cross: CrossTally): PerType {
    const others = this.#telling.has(fig.id)
      ? this.evidence.without(this.#offspring(fig, cross, fig.ownLogLikelihood))
      : this.evidence;
    const offspring = this.#offspring(fig, cross, fig.logLikelihood);
    return others.with(offspring).typeOf(offspring);
  }

  #offspring({ stated }: FigSeen, cross: CrossTally, logLikelihood: PerType): Offspring {
    return {
      likelihood: multiplied(statedLikelihood(stated), likelihoodOf(logLikelihood)),
      isSeedParentCaprifig: this.seedParents.get(cross) ?? false,
    };
  }
}

function byPollenParent(tallies: readonly CrossTally[]): Map<string | null, CrossTally[]> {
  const groups = new Map<string | null, CrossTally[]>();
  for (const tally of tallies) {
    if (!tally.crop.hasFigTypes) continue;
    const group = groups.get(tally.pollenParent);
    if (group === undefined) groups.set(tally.pollenParent, [tally]);
    else group.push(tally);
  }
  return groups;
}

function countCalls(posteriors: readonly PerType[]) {
  const calls = posteriors.map(calledType);
  const surely = (isSo: (posterior: PerType) => number) =>
    posteriors.filter((posterior) => isSo(posterior) >= CALLED_FROM).length;
  return {
    called: perType((type) => calls.filter((called) => called === FIG_TYPES[type]).length),
    open: calls.filter((called) => called === null).length,
    females: surely(([a, b]) => a + b),
    caprifigs: surely(([, , c, d]) => c + d),
  };
}

/** By Storey's genetics, a caprifig having the male factor once unless more is known. */
function expectedTypes({ carriesPersistence }: PollenParent, maleEggs: number): ExpectedTypes {
  const carries = carriesPersistence >= KNOWN_FROM ? 1 : carriesPersistence <= 1 - KNOWN_FROM ? 0 : null;
  return {
    types: carries === null ? null : typeShares({ carriesPersistence: carries, isMaleTwice: 0 }, maleEggs),
    female: (1 - maleEggs) / 2,
  };
}
