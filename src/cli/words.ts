/**
 * Plants and observations in a line of text, alike in every command.
 */
import type { Observation, Plant } from '../ledger/model.js';
import { findTrait, TRAITS, withUnit } from '../observe/vocabulary.js';
import { crossOf } from './json.js';

/** What tells a person that it is the right pot: cross, sowing, station, key. */
export function plantInWords(plant: Plant): string {
  const parts = [
    crossOf(plant),
    plant.origin === null ? null : `${plant.kind} of ${plant.origin}`,
    plant.sown === null ? null : `sown ${plant.sown}`,
    plant.station,
    `key ${plant.key}`,
    plant.ended === null ? null : `ended ${plant.ended}`,
  ];
  return parts.filter((part) => part !== null).join(' · ');
}

/** `fruit ripe, brix 18.5 °Bx`; then what a walk saw beyond the vocabulary: `station bench 2 / 7, leaf unlobed`. */
export function seenInWords({ values, photo }: Pick<Observation, 'values' | 'photo'>): string {
  const parts = TRAITS.flatMap((trait) => {
    const value = values[trait.name];
    return value === undefined ? [] : [`${trait.name} ${withUnit(trait, value)}`];
  });
  for (const [name, value] of Object.entries(values)) {
    if (findTrait(name) === undefined) parts.push(`${name} ${value}`);
  }
  if (photo !== null) parts.push(`photo ${photo.file}`);
  return parts.join(', ');
}

/** Never rounded up to certainty, nor down to nothing. */
export function percent(share: number): string {
  if (share > 0.999) return 'over 99.9 %';
  if (share < 0.001) return 'under 0.1 %';
  return `${(Math.floor(share * 1000) / 10).toFixed(1)} %`;
}
