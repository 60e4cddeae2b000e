/**
 * A plant's history as evidence of which plant it is: what was seen on each day that says anything.
 *
 * Of one day the last entry of a trait counts, and the mean of numbers. What was seen of the fruit speaks
 * for a type of fig; each day's say is what it adds to the days before (observe/type-evidence.ts counts a
 * season's crop once), so that over all days it adds up to what the whole history says.
 */
import type { History, Observation, Plant } from '../../ledger/model.js';
import { typeLogLikelihood } from '../../observe/type-evidence.js';
import { FIG_TYPES } from '../../observe/type-likelihoods.js';
import { fold } from '../../wording.js';
import { WALK } from '../parameters.js';
import { columnTraits, isLasting } from '../traits.js';

const MS_A_DAY = 86_400_000;
export const DAYS_A_YEAR = 365.25;

export interface DayRecord {
  /** Days since 1970; before all days for what the grower's CSV says. */
  readonly day: number;
  /** Null for what the grower's CSV says. */
  readonly date: string | null;
  readonly values: ReadonlyMap<string, string | number>;
  /** How much likelier it is of each type than of a plant of any; null if it tells nothing of type. */
  readonly types: readonly number[] | null;
  readonly seen: readonly Observation[];
}

export interface PlantHistory {
  readonly plant: Plant;
  /** By day; days that say nothing are left out. */
  readonly records: readonly DayRecord[];
  /** From this day on it can have been exchanged, as far as is known; and up to that one. */
  readonly sownDay: number;
  readonly endedDay: number;
}

export function dayOf(date: string): number {
  return Date.parse(date) / MS_A_DAY;
}

export function dateOf(day: number): string {
  return new Date(day * MS_A_DAY).toISOString().slice(0, 10);
}

export function historyOf({ plant, observations }: History): PlantHistory {
  const records = [columns(plant), ...days(observations)].filter(
    ({ values, types }) => values.size > 0 || types !== null,
  );
  return {
    plant,
    records,
    sownDay: plant.sown === null ? Number.NEGATIVE_INFINITY : dayOf(plant.sown),
    endedDay: plant.ended === null ? Number.POSITIVE_INFINITY : dayOf(plant.ended),
  };
}

/** What the grower's CSV says. */
function columns(plant: Plant): DayRecord {
  const values = new Map([...columnTraits(plant)].map(([trait, { value }]) => [trait, value]));
  const stated = FIG_TYPES.findIndex((type) => type === fold(plant.type ?? ''));
  const wrong = WALK.valueWrong;
  const types =
    stated === -1
      ? null
      : FIG_TYPES.map((_, type) => wrong + (type === stated ? (1 - wrong) * FIG_TYPES.length : 0));
  return { day: Number.NEGATIVE_INFINITY, date: null, values, types, seen: [] };
}

function days(observations: readonly Observation[]): DayRecord[] {
  const byDate = new Map<string, Observation[]>();
  for (const observation of observations) {
    const before = byDate.get(observation.date);
    if (before === undefined) byDate.set(observation.date, [observation]);
    else before.push(observation);
  }
  const soFar: Observation[] = [];
  let known: readonly number[] = FIG_TYPES.map(() => 0);
  return [...byDate].map(([date, seen]) => {
    soFar.push(...seen);
    let types: readonly number[] | null = null;
    if (seen.some(({ values }) => tellsOfType(values))) {
      const now = typeLogLikelihood(soFar, false);
      types = overMean(now.map((value, type) => Math.exp(value - (known[type] as number))));
      known = now;
    }
    return { day: dayOf(date), date, values: lastingValues(seen), types, seen };
  });
}

/** The traits that `types` speaks for. */
export function tellsOfType({ fruit, inside, liking }: Observation['values']): boolean {
  return fruit !== undefined || inside !== undefined || liking !== undefined;
}

function overMean(values: readonly number[]): readonly number[] | null {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const ratios = values.map((value) => value / mean);
  return ratios.some((ratio) => Math.abs(ratio - 1) > 1e-9) ? ratios : null;
}

function lastingValues(seen: readonly Observation[]): Map<string, string | number> {
  const all = new Map<string, (string | number)[]>();
  for (const { values } of seen) {
    for (const [trait, value] of Object.entries(values)) {
      if (!isLasting(trait) || trait === 'inside') continue;
      all.set(trait, [...(all.get(trait) ?? []), value]);
    }
  }
  return new Map([...all].map(([trait, values]) => [trait, ofTheDay(values)]));
}

function ofTheDay(values: readonly (string | number)[]): string | number {
  const numbers = values.filter((value) => typeof value === 'number');
  if (numbers.length < values.length) return values.at(-1) as string;
  return numbers.reduce((sum, value) => sum + value, 0) / numbers.length;
}
