/**
 * Histories that contradict themselves as one plant's cannot, and what explains them: an exchange of two
 * plants on some day, or a value that is wrong. Reads the ledger and writes nothing.
 *
 * The odds of a pair are the chance that just these two were exchanged in the years they have been seen, times
 * the Bayes factor; of all that may explain a plant's history, an exchange has its share. So that a large
 * garden does not cry wolf, an exchange is said to be one only if its odds also outweigh the number of all
 * exchanges that were to be expected: where there was none, a Bayes factor exceeds k with probability 1/k at
 * most (Markov's inequality), so that the more pairs there are, the higher the odds that chance gives to one.
 */
import type { PlantId } from '../../ids/plant-id.js';
import type { LedgerReader } from '../../ledger/ledger.js';
import type { Plant } from '../../ledger/model.js';
import { type Contradiction, contradictionsOf } from './contradictions.js';
import { stretchesOf, weighAlone } from './exchange-day.js';
import { GardenTraits } from './garden.js';
import { historyOf, type PlantHistory } from './history.js';
import { logAsOnePlant } from './one-plant.js';
import { type Suspect, weighPairs } from './pairs.js';
import { DOUBTS } from './parameters.js';
import { Partners } from './partners.js';
import { type Verdict, Verdicts } from './verdicts.js';

export interface DoubtsReport {
  readonly doubts: readonly Verdict[];
  /** Of plants that no exchange is likely to explain, each with the likeliest that might. */
  readonly contradictions: readonly (Contradiction & { readonly perhaps: Verdict | null })[];
  readonly garden: GardenTraits;
  /** All pairs of plants in the ledger. */
  readonly pairsConsidered: number;
}

export async function findDoubts(
  ledger: Pick<LedgerReader, 'histories' | 'observations'>,
): Promise<DoubtsReport> {
  const garden = new GardenTraits();
  const plants: Plant[] = [];
  let years = 0;
  for await (const history of ledger.histories({})) {
    const own = historyOf(history);
    plants.push(own.plant);
    garden.add(own);
    for (const stretch of stretchesOf([own])) years += stretch.years;
  }
  const suspects: Suspect[] = [];
  const contradictions: Contradiction[] = [];
  for await (const one of ledger.histories({})) {
    const history = historyOf(one);
    if (history.records.length < 2) continue;
    contradictions.push(...contradictionsOf(history, garden));
    const suspect = suspectOf(history, garden);
    if (suspect !== null) suspects.push(suspect);
  }
  const partners = new Partners(plants);
  // Suspects come in the order of enrolment, and so, by and large, do their neighbours.
  const fetched = new Map<PlantId, PlantHistory>();
  const observed = async (plant: Plant): Promise<PlantHistory> => {
    const before = fetched.get(plant.id);
    if (before !== undefined) return before;
    if (fetched.size >= DOUBTS.historiesAtOnce) fetched.clear();
    const history = historyOf({ plant, observations: await ledger.observations(plant.id) });
    fetched.set(plant.id, history);
    return history;
  };
  const pairs = await weighPairs(suspects, partners, garden, observed);
  const verdicts = new Verdicts(suspects, pairs, DOUBTS.exchangedAYear * years);
  const doubts = verdicts.all();
  const explained = new Set(doubts.flatMap(({ a, b }) => [a.plant.id, ...(b === null ? [] : [b.plant.id])]));
  return {
    doubts,
    contradictions: contradictions
      .filter(({ history }) => !explained.has(history.plant.id))
      .map((one) => ({ ...one, perhaps: verdicts.likeliestOf(one.history.plant.id) })),
    garden,
    pairsConsidered: partners.pairCount,
  };
}

function suspectOf(history: PlantHistory, garden: GardenTraits): Suspect | null {
  const fit = logAsOnePlant(history.records, garden);
  const alone = weighAlone(history, garden, () => fit);
  const most = Math.max(...alone.stretches.map(({ logRatio }) => logRatio));
  return most < Math.log(DOUBTS.contradicts) ? null : { history, alone };
}
