/**
 * The types of the trees that crosses name as their parents, as far as they are plants of the ledger.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import { typeLogLikelihood } from '../observe/type-evidence.js';
import { FIG_TYPES, type PerType } from '../observe/type-likelihoods.js';
import { ALIKE, likelihoodOf, multiplied, normalised, perType } from './per-type.js';
import { soundHistory } from './sound.js';

/** Once in 200 times a grower's word on a type is a slip (the rate of keyed characters, Michaels). */
const STATED_RIGHT = 0.995;

export class ParentTypes {
  readonly #known = new Map<string, PerType>();

  constructor(private readonly ledger: LedgerReader) {}

  /** P(type) of the tree with this key or ID; all types alike if it is not in the ledger. */
  async of(name: string | null): Promise<PerType> {
    if (name === null) return ALIKE;
    const known = this.#known.get(name);
    if (known !== undefined) return known;
    const belief = await this.#look(name);
    this.#known.set(name, belief);
    return belief;
  }

  async isCaprifig(name: string | null): Promise<boolean> {
    const [, , persistent, caducous] = await this.of(name);
    return persistent + caducous > 0.5;
  }

  async #look(name: string): Promise<PerType> {
    const [plant] = [...(await this.ledger.plantsByKeys([name])), ...(await this.ledger.plantsByIds([name]))];
    if (plant === undefined) return ALIKE;
    const { observations } = await soundHistory(this.ledger, plant);
    return normalised(
      multiplied(statedLikelihood(plant.type), likelihoodOf(typeLogLikelihood(observations, true))),
    );
  }
}

/** P(a grower states this | type), up to a constant; the types that the words leave open are alike. */
export function statedLikelihood(stated: string | null): PerType {
  const words = stated === null || stated === '' ? [] : stated.split(' ');
  return perType((type) =>
    words.every((word) => FIG_TYPES[type]?.split(' ').includes(word)) ? STATED_RIGHT : 1 - STATED_RIGHT,
  );
}
