/**
 * What contradicts what, in words: values with their days, of the traits that tell.
 */
import { findTrait, withUnit } from '../../observe/vocabulary.js';
import type { GardenTraits } from './garden.js';
import { type DayRecord, dayOf, type PlantHistory } from './history.js';
import { type TraitFit, TYPE, traitFits } from './one-plant.js';
import type { Verdict } from './verdicts.js';

/** A trait that an exchange explains this much better, as ln of a likelihood ratio, is worth a line. */
const WORTH_A_LINE = Math.LN2;

/** A line for each trait that tells and plant; the trait that tells most first. */
export function whyExchanged({ a, b, since }: Verdict, garden: GardenTraits): string[] {
  const [earlyA, lateA] = partsOf(a, since);
  const [earlyB, lateB] = b === null ? [[], []] : partsOf(b, since);
  const gains = new Map<string, number>();
  const add = (records: readonly DayRecord[], sign: number) => {
    for (const { trait, whole } of traitFits(records, garden)) {
      gains.set(trait, (gains.get(trait) ?? 0) + sign * whole);
    }
  };
  // Each plant by itself, against what each was if their days changed places.
  for (const records of [
    [...earlyA, ...lateA],
    [...earlyB, ...lateB],
  ])
    add(records, -1);
  for (const records of [
    [...earlyA, ...lateB],
    [...earlyB, ...lateA],
  ])
    add(records, 1);
  if (b === null) add(lateA, 1);
  return [...gains]
    .filter(([, gain]) => gain >= WORTH_A_LINE)
    .sort(([, one], [, two]) => two - one)
    .flatMap(([trait]) =>
      [a, ...(b === null ? [] : [b])].map(
        ({ plant, records }) => `${plant.id}: ${valuesInWords(trait, records, since)}`,
      ),
    );
}

/** The trait by which the two differed most clearly before, as a thing to do; null where none is known. */
export function whatTellsThem({ a, b, since }: Verdict, garden: GardenTraits): string | null {
  if (b === null) return null;
  const [early, other] = [partsOf(a, since)[0], partsOf(b, since)[0]];
  const [unlike] = traitFits([...early, ...other], garden)
    .map((fit) => ({
      trait: fit.trait,
      log: fit.whole - wholeOf(fit, early, garden) - wholeOf(fit, other, garden),
    }))
    .sort((x, y) => x.log - y.log);
  if (unlike === undefined || unlike.log > -WORTH_A_LINE) return null;
  const { trait } = unlike;
  const look = trait === TYPE ? 'Cut a fruit of both' : `Look at the ${trait} of both`;
  return `${look}: ${a.plant.id} had ${lastOf(trait, early)}, ${b.plant.id} ${lastOf(trait, other)}`;
}

function wholeOf({ trait }: TraitFit, records: readonly DayRecord[], garden: GardenTraits): number {
  return traitFits(records, garden).find((fit) => fit.trait === trait)?.whole ?? 0;
}

function lastOf(trait: string, records: readonly DayRecord[]): string {
  return records.map((record) => valueInWords(trait, record)).findLast((words) => words !== null) ?? '';
}

/** `leaf unlobed on 2024-04-20 and 2025-04-20, then five-lobed on 2026-04-20`. */
export function valuesInWords(trait: string, records: readonly DayRecord[], since: string | null): string {
  const runs: { readonly words: string; readonly isLate: boolean; readonly days: string[] }[] = [];
  for (const record of records) {
    const words = valueInWords(trait, record);
    if (words === null) continue;
    const isLate = since !== null && record.day >= dayOf(since);
    const day = record.date ?? 'your CSV';
    const last = runs.at(-1);
    if (last?.words === words && last.isLate === isLate) last.days.push(day);
    else runs.push({ words, isLate, days: [day] });
  }
  if (runs.length === 0) return `${trait === TYPE ? 'fruit' : trait} not noted`;
  const parts = runs.map(({ words, days }) => `${words} ${daysInWords(days)}`);
  return trait === TYPE ? parts.join(', then ') : `${trait} ${parts.join(', then ')}`;
}

const MOST_DAYS = 4;

function daysInWords(days: readonly string[]): string {
  if (days.length > MOST_DAYS) return `on ${days.length} days from ${days[0]} to ${days.at(-1)}`;
  const [first, ...more] = days;
  const last = more.pop();
  const on = first === 'your CSV' ? 'in' : 'on';
  if (last === undefined) return `${on} ${first}`;
  return `${on} ${[first, ...more].join(', ')} and ${last}`;
}

function valueInWords(trait: string, { values, types, seen, date }: DayRecord): string | null {
  if (trait === TYPE) return types === null ? null : date === null ? 'type as stated' : fruitInWords(seen);
  const value = values.get(trait);
  if (value === undefined) return null;
  const known = findTrait(trait);
  const rounded = typeof value === 'number' ? Math.round(value * 100) / 100 : value;
  return known === undefined ? String(rounded) : withUnit(known, rounded);
}

/** `fruit ripe, inside pulp`; where it was not cut open, `fruit dropped, new wood, pollination none`. */
function fruitInWords(seen: DayRecord['seen']): string {
  const each = seen.flatMap(({ values }) => {
    const { fruit, wood, pollination, inside, liking } = values;
    const parts = [
      ...(fruit === undefined ? [] : [`fruit ${fruit}`]),
      ...(fruit === undefined || inside !== undefined || wood === undefined ? [] : [`${wood} wood`]),
      ...(fruit === undefined || inside !== undefined || pollination === undefined
        ? []
        : [`pollination ${pollination}`]),
      ...(inside === undefined ? [] : [`inside ${inside}`]),
      ...(inside !== undefined || liking === undefined ? [] : [`liking ${liking}`]),
    ];
    return parts.length === 0 ? [] : [parts.join(', ')];
  });
  return [...new Set(each)].join('; ');
}

function partsOf({ records }: PlantHistory, since: string) {
  const day = dayOf(since);
  return [
    records.filter((record) => record.day < day),
    records.filter((record) => record.day >= day),
  ] as const;
}
