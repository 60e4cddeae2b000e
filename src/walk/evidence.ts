/**
 * Why a pot is taken for a plant, and what would tell more, in words.
 */
import type { Plant } from '../ledger/model.js';
import { findTrait, withUnit } from '../observe/vocabulary.js';
import type { OpenPot } from './findings.js';
import type { Spot } from './readings.js';
import type { Measurement } from './settle.js';
import { distance, distanceInWords, placeOf } from './stations.js';
import { categoryOf, type TraitKnowledge } from './traits.js';

export function whyThisPlant({ spot, worn }: OpenPot, plant: Plant, knowledge: TraitKnowledge): string[] {
  const reasons: string[] = [];
  if (plant.station === null) reasons.push('no station known so far');
  else {
    const way = distance(placeOf(plant.station), spot.place);
    reasons.push(
      way.kind === 'same'
        ? 'stands where the ledger has it'
        : `${distanceInWords(way)} from its own, ${plant.station}`,
    );
  }
  if (spot.reading.kind === 'spoilt') {
    const { pattern, candidates } = spot.reading;
    const fits = candidates.some(({ id }) => id === plant.id);
    reasons.push(fits ? `${pattern} fits its ID` : `${pattern} does not fit its ID`);
  }
  if (worn !== null)
    reasons.push(worn.id === plant.id ? 'its tag hangs there' : `the tag of ${worn.id} hangs there`);
  return [...reasons, ...traitsInWords(spot, plant, knowledge)];
}

/** What was seen at the spot, beside what the ledger holds of the plant. */
export function traitsInWords(spot: Spot, plant: Plant, knowledge: TraitKnowledge): string[] {
  return [...spot.traits].flatMap(([trait, value]) => {
    const known = knowledge.known(trait, plant.id);
    if (known === undefined) return [];
    const seen = `${trait} ${shown(trait, value)}`;
    if (typeof value !== 'number' && categoryOf(value) === categoryOf(known.value))
      return `${seen}, as recorded`;
    const when = known.date === null ? '' : ` on ${known.date}`;
    return `${seen}, recorded ${shown(trait, known.value)}${when}`;
  });
}

/** `height: K7FY5 about 63 cm, PXSV9 about 110 cm`. */
export function measurementInWords({ trait, expect }: Measurement): string {
  const each = expect.map(({ id, value }) =>
    typeof value === 'number' ? `${id} about ${shown(trait, value)}` : `${id} ${value}`,
  );
  return `${trait}: ${each.join(', ')}`;
}

function shown(trait: string, value: string | number): string {
  const known = findTrait(trait);
  return known === undefined ? String(value) : withUnit(known, value);
}
