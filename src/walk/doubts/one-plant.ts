/**
 * How likely days of records are, if all were seen on one plant, over the likelihood if each value came from
 * any plant of the garden. As each value counts once in every account of the histories, the rest cancels.
 *
 * Traits are independent. Of a trait, any value may be wrong and say nothing; the right ones follow one another
 * as on one plant. A fig has one type for ever, or is unlike any. And one day's records may have been made on
 * another plant, all of them.
 */
import { FIG_TYPES } from '../../observe/type-likelihoods.js';
import type { Dated, GardenTraits } from './garden.js';
import type { DayRecord } from './history.js';
import { DOUBTS } from './parameters.js';

/** Stands for a type among the traits. */
export const TYPE = 'type';

/** ln of the ratio for one trait, of all days and without each of the days that have it. */
export interface TraitFit {
  readonly trait: string;
  readonly whole: number;
  /** Index of the day → ln of the ratio without it. */
  readonly without: ReadonlyMap<number, number>;
}

/** ln of the ratio over all traits. @param records by day */
export function logAsOnePlant(records: readonly DayRecord[], garden: GardenTraits): number {
  const fits = traitFits(records, garden);
  const whole = fits.reduce((sum, fit) => sum + fit.whole, 0);
  let relative = 1;
  const elsewhere = DOUBTS.dayElsewhere / (1 - DOUBTS.dayElsewhere);
  for (let day = 0; day < records.length; day++) {
    let without = 0;
    for (const fit of fits) without += (fit.without.get(day) ?? fit.whole) - fit.whole;
    relative += elsewhere * Math.exp(without);
  }
  return whole + Math.log(relative);
}

/** One for each trait seen on two days at least: others say nothing. */
export function traitFits(records: readonly DayRecord[], garden: GardenTraits): TraitFit[] {
  const daysOf = new Map<string, number[]>();
  const typeDays: number[] = [];
  records.forEach(({ values, types }, index) => {
    if (types !== null) typeDays.push(index);
    for (const trait of values.keys()) {
      const days = daysOf.get(trait);
      if (days === undefined) daysOf.set(trait, [index]);
      else days.push(index);
    }
  });
  const fits: TraitFit[] = [];
  for (const [trait, days] of daysOf) {
    if (days.length > 1) fits.push(valueFit(trait, days, records, garden));
  }
  if (typeDays.length > 1) fits.push(typeFit(typeDays, records));
  return fits;
}

function valueFit(
  trait: string,
  days: readonly number[],
  records: readonly DayRecord[],
  garden: GardenTraits,
): TraitFit {
  const { wrong, ratio } = garden.model(trait);
  const values: Dated[] = days.map((index) => {
    const { day, values: seen } = records[index] as DayRecord;
    return { day, value: seen.get(trait) as string | number };
  });
  const ratios = values.map((after, at) => values.slice(0, at).map((before) => ratio(before, after)));
  const without = new Map(days.map((index, at) => [index, logChain(ratios, wrong, at)]));
  return { trait, whole: logChain(ratios, wrong, -1), without };
}

/**
 * ln of the sum over all choices of right values: each first or after the right one before it.
 * @param ratios of each value, after each of those before it
 * @param skip the index of a value left out
 */
function logChain(ratios: readonly (readonly number[])[], wrong: number, skip: number): number {
  // All ways so far in which this one is the last right value, and those in which none is right.
  const lastRight: number[] = [];
  let none = 1;
  let log = 0;
  for (let at = 0; at < ratios.length; at++) {
    if (at === skip) {
      lastRight.push(0);
      continue;
    }
    const after = ratios[at] as readonly number[];
    let right = none;
    none *= wrong;
    let total = none;
    for (let before = 0; before < at; before++) {
      const ways = lastRight[before] as number;
      right += ways * (after[before] as number);
      lastRight[before] = ways * wrong;
      total += ways * wrong;
    }
    right *= 1 - wrong;
    total += right;
    lastRight.push(right);
    // Kept near one, for histories of any length.
    none /= total;
    for (let before = 0; before <= at; before++) lastRight[before] = (lastRight[before] as number) / total;
    log += Math.log(total);
  }
  return log;
}

function typeFit(days: readonly number[], records: readonly DayRecord[]): TraitFit {
  const says = days.map((index) => (records[index] as DayRecord).types as readonly number[]);
  const without = new Map(days.map((index, at) => [index, logTypes(says, at)]));
  return { trait: TYPE, whole: logTypes(says, -1), without };
}

function logTypes(says: readonly (readonly number[])[], skip: number): number {
  let sum = DOUBTS.unlikeAnyType;
  for (let type = 0; type < FIG_TYPES.length; type++) {
    let product = (1 - DOUBTS.unlikeAnyType) / FIG_TYPES.length;
    for (let at = 0; at < says.length; at++) if (at !== skip) product *= says[at]?.[type] as number;
    sum += product;
  }
  return Math.log(sum);
}
