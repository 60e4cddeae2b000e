/**
 * A plant as the page shows it: what tells the pot and what was seen last; the type so far.
 */
import { judgeType } from '../breeding/fig-types.js';
import { nothingTells, type WouldSettle } from '../breeding/judged-type.js';
import { of } from '../breeding/per-type.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import { cropOf } from '../observe/crops.js';
import { FIG_TYPES } from '../observe/type-likelihoods.js';
import { observationView, plantView, type RecordView, type TypeView } from './views.js';

/** A phone shows no more. */
const MOST_OBSERVATIONS = 30;

export async function recordOf(ledger: LedgerReader, plant: Plant): Promise<RecordView> {
  const observations = await ledger.observations(plant.id);
  return {
    plant: plantView(plant),
    note: plant.note,
    observations: observations.slice(-MOST_OBSERVATIONS).reverse().map(observationView),
  };
}

/** Takes longer than all else: it looks at the plant's siblings. */
export async function typeOf(ledger: LedgerReader, plant: Plant): Promise<TypeView> {
  if (!cropOf(plant).hasFigTypes)
    return { stated: plant.type, called: null, nothingTells: true, shares: [], toSettle: null };
  const { posterior, called, wouldSettle } = await judgeType(ledger, plant);
  const shares = FIG_TYPES.map((type, index) => ({ type, share: of(posterior, index) }));
  return {
    stated: plant.type,
    called,
    nothingTells: nothingTells(posterior),
    shares: shares.sort((a, b) => b.share - a.share),
    toSettle: wouldSettle === null ? null : TO_SETTLE[wouldSettle.look],
  };
}

const TO_SETTLE: Readonly<Record<WouldSettle['look'], string>> = {
  'unpollinated fruit on new wood': 'keep fruit on new wood from pollen and see whether it ripens or falls',
  'a ripe fruit cut open': 'cut a ripe fruit open',
};
