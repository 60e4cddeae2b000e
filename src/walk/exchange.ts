/**
 * Tags stand in each other's places: did the pots move, or only the tags? The traits seen there decide.
 * Two accounts are weighed, that all pots moved or that all tags did; place cannot tell them apart.
 */
import type { Plant } from '../ledger/model.js';
import { traitsInWords } from './evidence.js';
import type { Finding } from './findings.js';
import { WALK } from './parameters.js';
import type { Spot } from './readings.js';
import { bestMeasurement, type Measurement } from './settle.js';
import { placeOf } from './stations.js';
import type { TraitKnowledge } from './traits.js';

export interface Exchange {
  /** What moved, if the traits say so at 0.9 or more. */
  readonly what: 'pots' | 'tags' | null;
  /** That the pots moved with their tags. */
  readonly potsMoved: number;
  readonly because: readonly string[];
  /** The spot where a measurement would tell most; null where none is needed or known. */
  readonly wouldSettle: { readonly spot: Spot; readonly measurement: Measurement } | null;
}

export function judgeExchange(
  finding: Finding,
  traits: readonly string[],
  knowledge: TraitKnowledge,
): Exchange {
  const each = finding.spots.map((spot, index) => ({
    spot,
    tagged: finding.plants[index] as Plant,
    expected: finding.plants.find(({ station }) => placeOf(station ?? '').key === spot.place.key) as Plant,
  }));
  let logOdds = Math.log(WALK.potsNotTags / (1 - WALK.potsNotTags));
  for (const { spot, tagged, expected } of each) {
    for (const [trait, value] of spot.traits) {
      logOdds += Math.log(
        knowledge.ratio(trait, value, tagged.id) / knowledge.ratio(trait, value, expected.id),
      );
    }
  }
  const potsMoved = 1 / (1 + Math.exp(-logOdds));
  const what = potsMoved >= WALK.propose ? 'pots' : 1 - potsMoved >= WALK.propose ? 'tags' : null;
  const because = each.flatMap(({ spot, tagged, expected }) => {
    const words = traitsInWords(spot, what === 'tags' ? expected : tagged, knowledge);
    return words.length === 0 ? [] : [`${spot.station}: ${words.join('; ')}`];
  });
  if (what !== null) return { what, potsMoved, because, wouldSettle: null };
  const measurements = each.flatMap(({ spot, tagged, expected }) => {
    const possibilities = [
      { id: tagged.id, share: potsMoved },
      { id: expected.id, share: 1 - potsMoved },
    ];
    const measurement = bestMeasurement(possibilities, traits, spot.traits, knowledge);
    return measurement === null ? [] : [{ spot, measurement }];
  });
  const [best] = measurements.toSorted((a, b) => b.measurement.bits - a.measurement.bits);
  return { what, potsMoved, because, wouldSettle: best ?? null };
}
