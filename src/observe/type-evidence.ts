/**
 * What a fig's history says of its type: the log-likelihood of everything seen, for each type.
 *
 * One season's crop on one kind of wood is one piece of evidence, however often it was written down: the
 * fruit of a season share weather and age, so their shares held follow a beta distribution (beta-binomial
 * likelihood of days with ripe and days with fallen fruit), and what a fruit is like inside counts once for
 * each thing seen.
 */
import type { Observation } from '../ledger/model.js';
import {
  CUT_FRUIT,
  type CutFruit,
  FIG_TYPES,
  HOLDING,
  type Holding,
  type PerType,
  WEATHER_COUNTS_DAYS,
} from './type-likelihoods.js';

export type SeenOnFig = Pick<Observation, 'date' | 'values'>;

/** Least `liking` of a fruit that is taken to have been eaten with pleasure. */
const LIKED = 5;

const MS_PER_DAY = 86_400_000;

/**
 * ln P(what was seen | type), in the order of `FIG_TYPES`, up to a constant that is alike for all types.
 *
 * @param hasBorneBefore the plant is known to have fruited before the first of these observations
 */
export function typeLogLikelihood(seen: readonly SeenOnFig[], hasBorneBefore: boolean): PerType {
  const holding = holdingEvidence(seen, hasBorneBefore);
  const cut = cutEvidence(seen);
  const sums = FIG_TYPES.map((_, type) => {
    let sum = 0;
    for (const { line, ripeDays, fallenDays } of holding) sum += logHolding(line, type, ripeDays, fallenDays);
    for (const { probability } of cut) sum += Math.log(at(probability, type));
    return sum;
  });
  return sums as unknown as PerType;
}

/** The line of the table for a fruit; `undefined` wood and pollination were not noted. */
export function holdingLine(
  wood: string | number | undefined,
  pollination: string | number | undefined,
  season: 'first' | 'later',
): Holding {
  const told = pollination === undefined || pollination === 'unknown' ? 'open' : pollination;
  const line = HOLDING.find(
    (each) =>
      (each.wood === wood || each.wood === 'either') &&
      (each.pollination === told || each.pollination === 'any') &&
      (each.season === season || each.season === 'any'),
  );
  if (line === undefined)
    throw new Error(`no line for ${wood} wood, pollination ${pollination}, ${season} season`);
  return line;
}

/**
 * Whether a fig held unpollinated fruit on old wood and dropped it on new wood, for no reason of youth or
 * weather: the San Pedro type, which is none of the four.
 */
export function isSanPedro(seen: readonly SeenOnFig[], hasBorneBefore: boolean): boolean {
  const falls = fallsForWeather(seen);
  const firstYear = firstBearingYear(seen, hasBorneBefore);
  const unpollinated = seen.filter(({ values }) => values.pollination === 'none');
  const isRipe = (wood: string) =>
    unpollinated.some(({ values }) => values.fruit === 'ripe' && values.wood === wood);
  const dropsMainCrop = unpollinated.some(
    ({ date, values }) =>
      values.fruit === 'dropped' && values.wood === 'new' && yearOf(date) !== firstYear && !falls(date),
  );
  return isRipe('old') && dropsMainCrop && !isRipe('new');
}

interface HoldingEvidence {
  readonly line: Holding;
  ripeDays: number;
  fallenDays: number;
}

function holdingEvidence(seen: readonly SeenOnFig[], hasBorneBefore: boolean): HoldingEvidence[] {
  const falls = fallsForWeather(seen);
  const firstYear = firstBearingYear(seen, hasBorneBefore);
  const found = new Map<string, HoldingEvidence>();
  const counted = new Set<string>();
  for (const { date, values } of seen) {
    const { fruit, wood, pollination } = values;
    if (fruit !== 'ripe' && fruit !== 'dropped') continue;
    if (fruit === 'dropped' && falls(date)) continue;
    const line = holdingLine(wood, pollination, yearOf(date) === firstYear ? 'first' : 'later');
    const crop = `${yearOf(date)} ${HOLDING.indexOf(line)}`;
    // Fruit of one day is written down in several entries by one person and in one by another.
    if (counted.has(`${crop} ${date} ${fruit}`)) continue;
    counted.add(`${crop} ${date} ${fruit}`);
    const evidence = found.get(crop) ?? { line, ripeDays: 0, fallenDays: 0 };
    if (fruit === 'ripe') evidence.ripeDays++;
    else evidence.fallenDays++;
    found.set(crop, evidence);
  }
  return [...found.values()];
}

/** ln of the beta-binomial probability of these days in one order. */
function logHolding({ held, asSureAs }: Holding, type: number, ripeDays: number, fallenDays: number): number {
  const ripe = at(held, type) * asSureAs;
  const fallen = asSureAs - ripe;
  let sum = 0;
  for (let day = 0; day < ripeDays; day++) sum += Math.log((ripe + day) / (asSureAs + day));
  for (let day = 0; day < fallenDays; day++) {
    sum += Math.log((fallen + day) / (asSureAs + ripeDays + day));
  }
  return sum;
}

function cutEvidence(seen: readonly SeenOnFig[]): CutFruit[] {
  const found = new Map<string, CutFruit>();
  for (const { date, values } of seen) {
    const line = cutLine(values);
    if (line !== undefined)
      found.set(`${yearOf(date)} ${values.wood ?? ''} ${CUT_FRUIT.indexOf(line)}`, line);
  }
  return [...found.values()];
}

function cutLine({ fruit, inside, liking }: SeenOnFig['values']): CutFruit | undefined {
  const isLiked = typeof liking === 'number' && liking >= LIKED;
  const what = inside ?? (isLiked ? 'tasted' : undefined);
  const ripeness = fruit === undefined || fruit === 'ripe' ? 'ripe' : 'unripe';
  return CUT_FRUIT.find(({ seen, fruit: state }) => seen === what && state === ripeness);
}

function firstBearingYear(seen: readonly SeenOnFig[], hasBorneBefore: boolean): string | undefined {
  if (hasBorneBefore) return undefined;
  return seen
    .filter(({ values }) => values.fruit !== undefined)
    .map(({ date }) => yearOf(date))
    .sort()[0];
}

/** Whether fruit that was found fallen on a day fell after hard weather: then that says nothing of the plant. */
export function fallsForWeather(seen: readonly SeenOnFig[]): (date: string) => boolean {
  const hardDays = daysOfHardWeather(seen);
  return (date) => isAfterHardWeather(date, hardDays);
}

function daysOfHardWeather(seen: readonly SeenOnFig[]): number[] {
  return seen.filter(({ values }) => values.weather !== undefined).map(({ date }) => Date.parse(date));
}

function isAfterHardWeather(date: string, hardDays: readonly number[]): boolean {
  return hardDays.some((hardDay) => {
    const days = (Date.parse(date) - hardDay) / MS_PER_DAY;
    return days >= 0 && days <= WEATHER_COUNTS_DAYS;
  });
}

function yearOf(date: string): string {
  return date.slice(0, 4);
}

function at(values: PerType, type: number): number {
  return values[type] as number;
}
