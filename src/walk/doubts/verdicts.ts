/**
 * What is to be said of each suspect, once all pairs are weighed.
 */
import type { PlantId } from '../../ids/plant-id.js';
import { credibleStretch, likeliest, type Stretch, type Weighed } from './exchange-day.js';
import { dateOf, type PlantHistory } from './history.js';
import { oddsOf, type Pair, type Suspect, type WeighedPairs } from './pairs.js';
import { DOUBTS } from './parameters.js';

export interface Verdict {
  readonly a: PlantHistory;
  /** Null: another's tag, but it cannot be told whose. */
  readonly b: PlantHistory | null;
  readonly weighed: Weighed;
  readonly logBayesFactor: number;
  readonly probability: number;
  /** Beyond doubt, with few false alarms in any garden; or else only more likely than not. */
  readonly isSaid: boolean;
  /** The first day on which what was recorded belongs to the other. */
  readonly since: string;
  /** The days on one of which it was. */
  readonly between: { readonly from: string; readonly to: string };
  /** Who else it may be, the likeliest first. */
  readonly candidates: readonly { readonly history: PlantHistory; readonly probability: number }[];
}

/** So many others are named. */
const MOST_CANDIDATES = 3;

/** Less than this is not worth naming. */
const LEAST_CANDIDATE = 0.05;

export class Verdicts {
  readonly #pairsOf = new Map<PlantId, Pair[]>();
  /** Odds that a suspect was exchanged with one it was not weighed with. */
  readonly #someone = new Map<PlantId, number>();

  /** @param expected how many plants are expected to have been exchanged, before looking at what was seen */
  constructor(
    readonly suspects: readonly Suspect[],
    readonly weighed: WeighedPairs,
    readonly expected: number,
  ) {
    for (const pair of weighed.pairs) {
      for (const { plant } of [pair.a, pair.b]) {
        const own = this.#pairsOf.get(plant.id);
        if (own === undefined) this.#pairsOf.set(plant.id, [pair]);
        else own.push(pair);
      }
    }
    for (const { history, alone } of suspects) {
      const { id } = history.plant;
      this.#someone.set(id, oddsOf(alone, Math.max(0, 1 - (weighed.shares.get(id) ?? 0))));
    }
  }

  all(): Verdict[] {
    const verdicts: Verdict[] = [];
    const explained = new Set<PlantId>();
    for (const pair of this.weighed.pairs) {
      const probability = this.#probability(pair);
      if (probability < DOUBTS.list) continue;
      explained.add(pair.a.plant.id).add(pair.b.plant.id);
      verdicts.push(this.#verdict(pair.a, pair.b, pair.weighed, pair.odds, probability, []));
    }
    for (const { history, alone } of this.suspects) {
      const { id } = history.plant;
      if (explained.has(id)) continue;
      const open = this.#of(id).filter((pair) => !explained.has(other(pair, id).plant.id));
      const odds = open.reduce((sum, pair) => sum + pair.odds, this.#someone.get(id) ?? 0);
      const probability = odds / (1 + odds);
      if (probability < DOUBTS.list) continue;
      const candidates = open
        .map((pair) => ({ history: other(pair, id), probability: pair.odds / (1 + odds) }))
        .filter((candidate) => candidate.probability >= LEAST_CANDIDATE)
        .sort((x, y) => y.probability - x.probability || x.history.plant.number - y.history.plant.number)
        .slice(0, MOST_CANDIDATES);
      verdicts.push(this.#verdict(history, null, alone, odds, probability, candidates));
    }
    return verdicts.sort((x, y) => y.probability - x.probability || x.a.plant.number - y.a.plant.number);
  }

  /** The likeliest exchange of a plant that is in no doubt; null if there is none worth naming. */
  likeliestOf(id: PlantId): Verdict | null {
    let best: { readonly pair: Pair; readonly probability: number } | null = null;
    for (const pair of this.#of(id)) {
      const probability = this.#probability(pair);
      if (probability > (best?.probability ?? LEAST_CANDIDATE)) best = { pair, probability };
    }
    if (best === null) return null;
    const { pair, probability } = best;
    const second = other(pair, id);
    const first = second === pair.a ? pair.b : pair.a;
    return this.#verdict(first, second, pair.weighed, pair.odds, probability, []);
  }

  #of(id: PlantId): readonly Pair[] {
    return this.#pairsOf.get(id) ?? [];
  }

  /** Against neither having been exchanged, and against each having been exchanged with any other. */
  #probability(pair: Pair): number {
    const others = ({ plant }: PlantHistory) =>
      this.#of(plant.id).reduce(
        (sum, each) => sum + (each === pair ? 0 : each.odds),
        1 + (this.#someone.get(plant.id) ?? 0),
      );
    return pair.odds / (pair.odds + others(pair.a) * others(pair.b));
  }

  #verdict(
    a: PlantHistory,
    b: PlantHistory | null,
    weighed: Weighed,
    odds: number,
    probability: number,
    candidates: Verdict['candidates'],
  ): Verdict {
    const best = likeliest(weighed) as Stretch;
    const credible = credibleStretch(weighed) ?? best;
    const logBayesFactor =
      b === null ? Math.log(odds / (DOUBTS.exchangedAYear * weighed.years)) : weighed.logBayesFactor;
    return {
      a,
      b,
      weighed,
      logBayesFactor,
      probability,
      // Pairs' shares of all exchanges add up to less than one; so do those of plants exchanged with anyone.
      isSaid: probability >= DOUBTS.say && odds >= (2 * this.expected * DOUBTS.tail) / DOUBTS.falseAlarms,
      since: dateOf(best.byDay),
      between: { from: dateOf(credible.afterDay + 1), to: dateOf(credible.byDay) },
      candidates,
    };
  }
}

function other({ a, b }: Pair, id: PlantId): PlantHistory {
  return a.plant.id === id ? b : a;
}
