/**
 * When a plant first fruited, counted from its sowing.
 */
import type { History, Observation } from '../ledger/model.js';
import type { Waiting } from './survival.js';

const MS_PER_DAY = 86_400_000;
const DAYS_PER_YEAR = 365.25;

const SEEN_ON_FRUIT = ['fruit', 'inside', 'brix', 'weight', 'liking'] as const;

export function showsFruit({ values }: Pick<Observation, 'values'>): boolean {
  return SEEN_ON_FRUIT.some((trait) => values[trait] !== undefined);
}

const NOT_YET: readonly unknown[] = ['set', 'swelling'];

/** Its fruit came to something: ripe, fallen, picked or tasted. */
export function showsOutcome(observation: Pick<Observation, 'values'>): boolean {
  return showsFruit(observation) && !NOT_YET.includes(observation.values.fruit);
}

/**
 * Years from sowing to the first fruit seen, or without one until its end or today. Undefined if the sowing
 * is not known. A sowing known by its month or year counts from the middle of that.
 */
export function yearsToFruit({ plant, observations }: History, today: string): Waiting | undefined {
  if (plant.sown === null) return undefined;
  const first = observations.find(showsFruit);
  const days = daysBetween(middleOf(plant.sown), first?.date ?? plant.ended ?? today);
  return { time: Math.max(0, days) / DAYS_PER_YEAR, happened: first !== undefined };
}

export function daysBetween(from: string, to: string): number {
  return (Date.parse(to) - Date.parse(from)) / MS_PER_DAY;
}

function middleOf(date: string): string {
  if (date.length === 4) return `${date}-07-02`;
  return date.length === 7 ? `${date}-16` : date;
}
