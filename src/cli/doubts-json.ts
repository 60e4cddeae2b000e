/**
 * Doubts, as `doubts --json` prints them.
 */
import { valuesInWords, whatTellsThem, whyExchanged } from '../walk/doubts/because.js';
import { observationsOf } from '../walk/doubts/contradictions.js';
import type { DoubtsReport } from '../walk/doubts/doubts.js';
import type { GardenTraits } from '../walk/doubts/garden.js';
import { DOUBTS } from '../walk/doubts/parameters.js';
import { strengthOf } from '../walk/doubts/strength.js';
import type { Verdict } from '../walk/doubts/verdicts.js';

export function doubtsJson({ doubts, contradictions, garden, pairsConsidered }: DoubtsReport) {
  return {
    doubts: doubts.map((verdict) => verdictJson(verdict, garden)),
    contradictions: contradictions.map(contradictionJson),
    pairs_considered: pairsConsidered,
    /** Exchanges wrongly said to be one (`said`) that may be expected in a garden without any. */
    false_alarm_rate: DOUBTS.falseAlarms,
  };
}

function verdictJson(verdict: Verdict, garden: GardenTraits) {
  const { a, b, between, logBayesFactor, probability, isSaid, candidates } = verdict;
  return {
    a: a.plant.id,
    b: b?.plant.id ?? null,
    since: between,
    bayes_factor: Math.exp(logBayesFactor),
    log10_bayes_factor: logBayesFactor / Math.LN10,
    strength: strengthOf(logBayesFactor),
    probability,
    said: isSaid,
    because: whyExchanged(verdict, garden),
    candidates: candidates.map(({ history, probability }) => ({ id: history.plant.id, probability })),
    would_settle: isSaid ? null : whatTellsThem(verdict, garden),
    command: exchangeCommand(verdict),
  };
}

/** Null where it is not known with whom. */
export function exchangeCommand({ a, b, since }: Verdict): string | null {
  return b === null ? null : `pottag exchange ${a.plant.id} ${b.plant.id} --since ${since}`;
}

function contradictionJson(contradiction: DoubtsReport['contradictions'][number]) {
  const { history, trait, kind, perhaps } = contradiction;
  return {
    id: history.plant.id,
    trait,
    kind,
    because: [valuesInWords(trait, history.records, null)],
    observations: observationsOf(contradiction).map(({ number, entry, date, values }) => ({
      number,
      entry,
      date,
      ...values,
    })),
    perhaps_exchanged_with:
      perhaps === null ? null : { id: perhaps.b?.plant.id ?? null, probability: perhaps.probability },
  };
}
