/**
 * Plants, doubts and changes in words, alike in every command.
 */
import type { Doubt, Plant } from '../ledger/model.js';
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

/** Which of what was seen may be another plant's, and what settles it. */
export function doubtInWords({ number, plants, after, until }: Doubt): string {
  const names = `${plants.slice(0, -1).join(', ')} and ${plants.at(-1)}`;
  const since = after === null ? '' : `after ${after} and `;
  const pair = plants.length === 2 ? plants.join(' ') : 'ID ID';
  return [
    `The tags of ${names} were found in each other's places on ${until}. What was seen by them ${since}up to that day is doubtful until you say:`,
    `  pottag exchange ${pair} --since DAY   they hung wrong from that day on (with --hung-back: up to today)`,
    `  pottag undo ${number}   they never did`,
  ].join('\n');
}

export function howToUndo(number: number): string {
  return `To undo it: pottag undo ${number}`;
}

/** Never rounded up to certainty, nor down to nothing. */
export function percent(share: number): string {
  if (share > 0.999) return 'over 99.9 %';
  if (share < 0.001) return 'under 0.1 %';
  return `${(Math.floor(share * 1000) / 10).toFixed(1)} %`;
}
