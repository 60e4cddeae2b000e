/**
 * By what seedlings are ranked, and how each criterion is measured on a plant.
 */
import type { History } from '../ledger/model.js';
import type { Crop } from '../observe/crops.js';
import { fallsForWeather } from '../observe/type-evidence.js';

export interface Criterion {
  readonly name: string;
  readonly meaning: string;
  readonly unit: string;
  /** The trait that it is measured by. */
  readonly trait: string;
  readonly defaultWeight: number;
  /** Whether people differ in it. */
  readonly hasTasters: boolean;
  readonly valuesOf: (history: History) => readonly Valued[];
}

/** More is better; one value of a criterion. */
export interface Valued {
  readonly value: number;
  readonly date: string;
  readonly by: string;
}

/** The default weights are our judgement of what a small breeder looks for first. */
export const CRITERIA: readonly Criterion[] = [
  measured('liking', 'how it tastes, 1 to 9', '', 3, true),
  measured('brix', 'sugar of the juice', '°Bx', 1, false),
  measured('weight', 'weight of one fruit', 'g', 1, false),
  {
    name: 'held',
    meaning:
      'share of days with fruit on new wood on which it was ripe, not fallen (frost, storm and fruit pollinated by hand left out)',
    unit: '',
    trait: 'fruit',
    defaultWeight: 1,
    hasTasters: false,
    valuesOf: heldOrFallen,
  },
  {
    name: 'early',
    meaning: 'first ripe fruit of the main crop, days before the end of the year',
    unit: 'days',
    trait: 'fruit',
    defaultWeight: 0,
    hasTasters: false,
    valuesOf: daysBeforeYearEnd,
  },
];

/** Those that this crop can have. */
export function criteriaOf(crop: Crop): readonly Criterion[] {
  return CRITERIA.filter(({ trait }) => crop.observations.includes(trait));
}

function measured(
  name: string,
  meaning: string,
  unit: string,
  defaultWeight: number,
  hasTasters: boolean,
): Criterion {
  const valuesOf = ({ observations }: History) =>
    observations.flatMap(({ values, date, by }) => {
      const value = values[name];
      return typeof value === 'number' ? [{ value, date, by }] : [];
    });
  return { name, meaning, unit, trait: name, defaultWeight, hasTasters, valuesOf };
}

/** 1 for a day on which fruit was ripe, 0 for one on which it had fallen for no reason of weather. */
function heldOrFallen({ observations }: History): Valued[] {
  const falls = fallsForWeather(observations);
  const days = new Map<string, Valued>();
  for (const { values, date, by } of observations) {
    const { fruit, wood, pollination } = values;
    // Pollinated by hand any female holds it: what drops without a wasp must not count as held.
    if (wood === 'old' || pollination === 'hand' || (fruit !== 'ripe' && fruit !== 'dropped')) continue;
    if (fruit === 'dropped' && falls(date)) continue;
    days.set(`${date} ${fruit}`, { value: fruit === 'ripe' ? 1 : 0, date, by });
  }
  return [...days.values()];
}

function daysBeforeYearEnd({ observations }: History): Valued[] {
  const first = new Map<string, Valued>();
  for (const { values, date, by } of observations) {
    const year = date.slice(0, 4);
    if (values.fruit !== 'ripe' || values.wood === 'old' || first.has(year)) continue;
    const days = (Date.parse(`${year}-12-31`) - Date.parse(date)) / 86_400_000;
    first.set(year, { value: days, date, by });
  }
  return [...first.values()];
}
