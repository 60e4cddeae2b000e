/**
 * What hangs in the garden, when it will be ripe, and what to do about it before a frost.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import { type Crop, cropOf, type Ripening } from '../observe/crops.js';
import { normalShare } from './distributions.js';
import { ripeningTime, type Wave, type Wood, wavesOf } from './fruit-waves.js';
import { daysBetween } from './fruiting.js';
import { type Between, shareBy, turnbull } from './turnbull.js';

/**
 * Before a frost: `pick`, `cover`, `too far off`; without one: `ripe`, `soon` (two weeks), `later`.
 */
export type Group = 'pick' | 'cover' | 'too far off' | 'ripe' | 'soon' | 'later';

export interface Pick {
  readonly plant: Plant;
  readonly wave: Wave;
  readonly group: Group;
  /** The day by which it is ripe with a chance of 5, 50 and 95 %; null if it may never be. */
  readonly ripe: {
    readonly early: string | null;
    readonly median: string | null;
    readonly late: string | null;
  };
  /** It has hung longer than nearly all that ripened: it is to be looked at. */
  readonly isOverdue: boolean;
  /** P(ripe by the frost, or by today without one). */
  readonly chanceRipe: number;
}

/** How long fruit of a crop takes, from set to ripe. */
export interface RipeningTimes {
  readonly crop: Crop;
  readonly wood: Wood;
  readonly from: 'ledger' | 'common practice';
  /** Of the ledger: how many were seen ripe, and how many have not been so far. */
  readonly ripened: number;
  readonly waiting: number;
  readonly medianDays: number | null;
  readonly earlyDays: number | null;
  readonly lateDays: number | null;
  readonly source: string;
}

export interface Picks {
  readonly today: string;
  readonly frost: string | null;
  readonly times: readonly RipeningTimes[];
  /** In the order of walking: by station, its numbers counted as numbers. */
  readonly picks: readonly Pick[];
}

/** Fewer fruit seen to ripen are no distribution. */
const LEAST_RIPENED = 10;

/** Unseen for so long, it no longer hangs. */
const GONE_AFTER_DAYS = 120;

/** A fleece, a porch or a tunnel gains so many days after the first frost (common practice). */
const COVER_GAINS_DAYS = 28;

const SOON_DAYS = 14;

/** Fewer than this share of all fruit ripened as late as that. */
const OVERDUE_SHARE = 0.02;

/** Nothing is foretold beyond. */
const LONGEST_DAYS = 400;

const MS_PER_DAY = 86_400_000;

/** Reads the whole ledger once; grows with what hangs and with how many different times were seen. */
export async function picksBefore(ledger: LedgerReader, today: string, frost: string | null): Promise<Picks> {
  const hanging: { plant: Plant; wave: Wave }[] = [];
  const seen = new Map<string, Between[]>();
  for await (const { plant, observations } of ledger.histories({})) {
    for (const wave of wavesOf(observations)) {
      const time = ripeningTime(wave, cropOf(plant).ripeHangsDays);
      if (time !== undefined) add(seen, keyOf(cropOf(plant), wave.wood), time);
      if (isHanging(plant, wave, today)) hanging.push({ plant, wave });
    }
  }
  const clocks = new Map<string, Clock>();
  const picks = hanging.map(({ plant, wave }) => {
    const crop = cropOf(plant);
    const key = keyOf(crop, wave.wood);
    const clock = clocks.get(key) ?? clockFor(crop, wave.wood, seen.get(key) ?? []);
    clocks.set(key, clock);
    return pick(plant, wave, crop, clock, today, frost);
  });
  return {
    today,
    frost,
    times: [...clocks.values()].map(({ times }) => times),
    picks: picks.sort(inWalkingOrder),
  };
}

interface Clock {
  readonly times: RipeningTimes;
  /** P(ripe within so many whole days of set), up to `LONGEST_DAYS`. */
  readonly shareWithin: (days: number) => number;
}

function clockFor(crop: Crop, wood: Wood, seen: readonly Between[]): Clock {
  const ripened = seen.filter(({ until }) => until !== Infinity).length;
  const counts = { crop, wood, ripened, waiting: seen.length - ripened };
  if (ripened < LEAST_RIPENED) {
    const usual = usualRipening(crop, wood);
    const { medianDays, fromDays, toDays, source } = usual;
    const times = {
      ...counts,
      from: 'common practice' as const,
      medianDays,
      earlyDays: fromDays,
      lateDays: toDays,
      source,
    };
    return { times, shareWithin: tabled(usualShare(usual)) };
  }
  const masses = turnbull(seen);
  const shareWithin = tabled((days) => shareBy(masses, days));
  const day = (share: number) => firstDay((days) => shareWithin(days) >= share, 0);
  const source = `${ripened} fruit of this ledger (Turnbull's estimate)`;
  const times = {
    ...counts,
    from: 'ledger' as const,
    medianDays: day(0.5),
    earlyDays: day(0.05),
    lateDays: day(0.95),
    source,
  };
  return { times, shareWithin };
}

function tabled(share: (days: number) => number): (days: number) => number {
  const table = Float64Array.from({ length: LONGEST_DAYS + 1 }, (_, days) => share(days));
  return (days) => table[Math.min(days, LONGEST_DAYS)] as number;
}

function usualRipening({ ripening }: Crop, wood: Wood): Ripening {
  const found = ripening.find((each) => each.wood === wood) ?? ripening.find((each) => each.wood === null);
  if (found === undefined) throw new Error('every crop has a ripening for any wood');
  return found;
}

/** The 95 % quantile of the standard normal distribution. */
const Z_90_BOTH_SIDES = 1.6448536269514722;

/** Log-normal, nine in ten between the days given. */
function usualShare({ medianDays, fromDays, toDays }: Ripening): (days: number) => number {
  const spread = Math.log(toDays / fromDays) / (2 * Z_90_BOTH_SIDES);
  return (days) => (days <= 0 ? 0 : normalShare(Math.log(days / medianDays) / spread));
}

function isHanging(plant: Plant, wave: Wave, today: string): boolean {
  return (
    plant.ended === null && wave.state !== 'gone' && daysBetween(wave.lastSeen, today) <= GONE_AFTER_DAYS
  );
}

function pick(plant: Plant, wave: Wave, crop: Crop, clock: Clock, today: string, frost: string | null): Pick {
  const isRipe = wave.state === 'ripe';
  // It was not ripe when last seen; what has happened since is part of what is foretold.
  const set = wave.seenAs === 'swelling' ? addDays(wave.since, -halfOf(clock)) : wave.since;
  const seenDays = daysBetween(set, wave.lastUnripe ?? wave.since);
  const before = clock.shareWithin(seenDays);
  const isOverdue = !isRipe && clock.shareWithin(LONGEST_DAYS) - before < OVERDUE_SHARE;
  const shareBy = (day: string) => {
    if (isRipe || isOverdue) return 1;
    return (clock.shareWithin(Math.max(seenDays, daysBetween(set, day))) - before) / (1 - before);
  };
  const dayOf = (share: number) => {
    const days = firstDay((each) => shareBy(addDays(set, each)) >= share, seenDays);
    return days === null ? null : addDays(set, days);
  };
  const ripe = isRipe
    ? { early: wave.lastSeen, median: wave.lastSeen, late: wave.lastSeen }
    : { early: dayOf(0.05), median: dayOf(0.5), late: dayOf(0.95) };
  const isLikelyBy = (day: string) => shareBy(day) >= 0.5;
  const group = ((): Group => {
    if (frost === null) {
      return isLikelyBy(today) ? 'ripe' : isLikelyBy(addDays(today, SOON_DAYS)) ? 'soon' : 'later';
    }
    if (isLikelyBy(addDays(frost, crop.ripensOffPlantDays))) return 'pick';
    return isLikelyBy(addDays(frost, COVER_GAINS_DAYS)) ? 'cover' : 'too far off';
  })();
  return { plant, wave, group, isOverdue, ripe, chanceRipe: shareBy(frost ?? today) };
}

/** Fruit first seen swelling has, on average, half its time behind it (our judgement). */
function halfOf({ times: { medianDays } }: Clock): number {
  return Math.round((medianDays ?? 0) / 2);
}

function firstDay(isSo: (days: number) => boolean, from: number): number | null {
  for (let days = from; days <= LONGEST_DAYS; days++) if (isSo(days)) return days;
  return null;
}

function addDays(date: string, days: number): string {
  return new Date(Date.parse(date) + days * MS_PER_DAY).toISOString().slice(0, 10);
}

function keyOf(crop: Crop, wood: Wood): string {
  return `${crop.name} ${wood}`;
}

function add(seen: Map<string, Between[]>, key: string, time: Between): void {
  const times = seen.get(key);
  if (times === undefined) seen.set(key, [time]);
  else times.push(time);
}

const byStation = new Intl.Collator('en', { numeric: true });

function inWalkingOrder(a: Pick, b: Pick): number {
  const [from, to] = [a.plant.station, b.plant.station];
  if (from === null || to === null)
    return Number(from === null) - Number(to === null) || a.plant.number - b.plant.number;
  return byStation.compare(from, to) || a.plant.number - b.plant.number;
}
