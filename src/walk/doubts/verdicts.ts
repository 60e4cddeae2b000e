/**
 * What is to be said of each suspect, once all pairs are weighed.
 */
import { credibleStretch, likeliest, type Stretch, type Weighed } from './exchange-day.js';
import { dateOf, type PlantHistory } from './history.js';
import { oddsOf, type Pair, type Suspect } from './pairs.js';
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
  readonly #pairsOf = new Map<PlantHistory, Pair[]>();
  readonly #someone = new Map<PlantHistory, number>();

  /** @param expected how many plants are expected to have been exchanged, before looking at what was seen */
  constructor(
    readonly suspects: readonly Suspect[],
    readonly pairs: readonly Pair[],
    readonly expected: number,
  ) {
    for (const pair of pairs) {
      for (const history of [pair.a, pair.b]) {
        const own = this.#pairsOf.get(history);
        if (own === undefined) this.#pairsOf.set(history, [pair]);
        else own.push(pair);
      }
    }
    for (const { history, alone } of suspects) {
      const weighed = this.#of(history).reduce((sum, { share }) => sum + share, 0);
      this.#someone.set(history, oddsOf(alone, Math.max(0, 1 - weighed)));
    }
  }

  all(): Verdict[] {
    const verdicts: Verdict[] = [];
    const explained = new Set<PlantHistory>();
    for (const pair of this.pairs) {
      const probability = this.#probability(pair);
      if (probability < DOUBTS.list) continue;
      explained.add(pair.a).add(pair.b);
      verdicts.push(this.#verdict(pair.a, pair.b, pair.weighed, pair.odds, probability, []));
    }
    for (const { history, alone } of this.suspects) {
      if (explained.has(history)) continue;
      const open = this.#of(history).filter((pair) => !explained.has(other(pair, history)));
      const odds = open.reduce((sum, pair) => sum + pair.odds, this.#someone.get(history) ?? 0);
      const probability = odds / (1 + odds);
      if (probability < DOUBTS.list) continue;
      const candidates = open
        .map((pair) => ({ history: other(pair, history), probability: pair.odds / (1 + odds) }))
        .filter((candidate) => candidate.probability >= LEAST_CANDIDATE)
        .sort((x, y) => y.probability - x.probability || x.history.plant.number - y.history.plant.number)
        .slice(0, MOST_CANDIDATES);
      verdicts.push(this.#verdict(history, null, alone, odds, probability, candidates));
    }
    return verdicts.sort((x, y) => y.probability - x.probability || x.a.plant.number - y.a.plant.number);
  }

  /** The likeliest exchange of a plant that none is said of; null if there is none worth naming. */
  likeliestOf(history: PlantHistory): Verdict | null {
    let best: { readonly pair: Pair; readonly probability: number } | null = null;
    for (const pair of this.#of(history)) {
      const probability = this.#probability(pair);
      if (probability > (best?.probability ?? LEAST_CANDIDATE)) best = { pair, probability };
    }
    if (best === null) return null;
    const { pair, probability } = best;
    return this.#verdict(history, other(pair, history), pair.weighed, pair.odds, probability, []);
  }

  #of(history: PlantHistory): readonly Pair[] {
    return this.#pairsOf.get(history) ?? [];
  }

  /** Against neither having been exchanged, and against each having been exchanged with any other. */
  #probability(pair: Pair): number {
    const others = (history: PlantHistory) =>
      this.#of(history).reduce(
        (sum, each) => sum + (each === pair ? 0 : each.odds),
        1 + (this.#someone.get(history) ?? 0),
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

function other({ a, b }: Pair, history: PlantHistory): PlantHistory {
  return a === history ? b : a;
}
