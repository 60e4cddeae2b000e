/**
 * Two plants that were exchanged on an unknown day, against each having been one plant all the time.
 */
import type { GardenTraits } from './garden.js';
import { DAYS_A_YEAR, type PlantHistory } from './history.js';
import { logAsOnePlant } from './one-plant.js';
import { DOUBTS } from './parameters.js';

/** Days of exchange that come to the same: after one record and up to the next. */
export interface Stretch {
  /** The exchange came after this day … */
  readonly afterDay: number;
  /** … and before what was recorded on this one. */
  readonly byDay: number;
  readonly years: number;
  /** ln of the likelihood ratio if it was then. */
  readonly logRatio: number;
}

export interface Weighed {
  readonly stretches: readonly Stretch[];
  /** Over all stretches. */
  readonly years: number;
  /** ln of the Bayes factor: the likelihood ratio averaged over the days, each as likely. */
  readonly logBayesFactor: number;
}

/** Days on which the two, both in the garden then, can have been exchanged so that records tell. */
export function stretchesOf(histories: readonly PlantHistory[]): Omit<Stretch, 'logRatio'>[] {
  const days = [...new Set(histories.flatMap(({ records }) => records.map(({ day }) => day)))]
    .filter(Number.isFinite)
    .sort((a, b) => a - b);
  const [first] = days;
  if (first === undefined) return [];
  const until = Math.min(...histories.map(({ endedDay }) => endedDay));
  const stretches: Omit<Stretch, 'logRatio'>[] = [];
  let afterDay = startOf(histories, first);
  for (const byDay of days) {
    const years = (Math.min(byDay, until) - afterDay) / DAYS_A_YEAR;
    if (years <= 0) continue;
    stretches.push({ afterDay, byDay, years });
    afterDay = byDay;
  }
  return stretches;
}

/** Before the first record an exchange shows only against what was said without a day. */
function startOf(histories: readonly PlantHistory[], first: number): number {
  const sown = Math.max(...histories.map(({ sownDay }) => sownDay));
  const isUndated = histories.some(({ records }) => records[0]?.date === null);
  if (!isUndated) return Math.max(sown, first);
  return Number.isFinite(sown) ? sown : first - DAYS_A_YEAR;
}

/** @param alone ln of how well each history fits one plant */
export function weighPair(
  a: PlantHistory,
  b: PlantHistory,
  garden: GardenTraits,
  alone: (history: PlantHistory) => number,
): Weighed {
  const both = alone(a) + alone(b);
  return average(stretchesOf([a, b]), (byDay) => {
    const [earlyA, lateA] = cut(a, byDay);
    const [earlyB, lateB] = cut(b, byDay);
    return logAsOnePlant([...earlyA, ...lateB], garden) + logAsOnePlant([...earlyB, ...lateA], garden) - both;
  });
}

/** The plant exchanged with another of which nothing is known: the mean over all that can be. */
export function weighAlone(
  a: PlantHistory,
  garden: GardenTraits,
  alone: (history: PlantHistory) => number,
): Weighed {
  return average(stretchesOf([a]), (byDay) => {
    const [early, late] = cut(a, byDay);
    return logAsOnePlant(early, garden) + logAsOnePlant(late, garden) - alone(a);
  });
}

function cut({ records }: PlantHistory, byDay: number) {
  const at = records.findIndex(({ day }) => day >= byDay);
  return at === -1 ? ([records, []] as const) : ([records.slice(0, at), records.slice(at)] as const);
}

function average(days: readonly Omit<Stretch, 'logRatio'>[], logRatioBy: (byDay: number) => number): Weighed {
  const stretches = days.map((stretch) => ({ ...stretch, logRatio: logRatioBy(stretch.byDay) }));
  const years = stretches.reduce((sum, stretch) => sum + stretch.years, 0);
  const most = Math.max(...stretches.map(({ logRatio }) => logRatio));
  const sum = stretches.reduce((total, { years, logRatio }) => total + years * Math.exp(logRatio - most), 0);
  return { stretches, years, logBayesFactor: stretches.length === 0 ? 0 : most + Math.log(sum / years) };
}

export function likeliest({ stretches }: Weighed): Stretch | undefined {
  let best: Stretch | undefined;
  for (const one of stretches) {
    if (best === undefined || weight(one) > weight(best)) best = one;
  }
  return best;
}

/** The neighbouring stretches around the likeliest that hold the exchange with enough probability. */
export function credibleStretch(weighed: Weighed): Pick<Stretch, 'afterDay' | 'byDay'> | undefined {
  const best = likeliest(weighed);
  if (best === undefined) return undefined;
  const { stretches } = weighed;
  const shares = stretches.map((one) => Math.exp(weight(one) - weight(best)));
  const enough = DOUBTS.credible * shares.reduce((sum, share) => sum + share, 0);
  let first = stretches.indexOf(best);
  let last = first;
  let held = shares[first] as number;
  while (held < enough) {
    const [before, after] = [shares[first - 1] ?? 0, shares[last + 1] ?? 0];
    if (first > 0 && (before >= after || last === stretches.length - 1)) {
      first--;
      held += before;
    } else if (last < stretches.length - 1) {
      last++;
      held += after;
    } else break;
  }
  return { afterDay: (stretches[first] as Stretch).afterDay, byDay: (stretches[last] as Stretch).byDay };
}

function weight({ years, logRatio }: Stretch): number {
  return Math.log(years) + logRatio;
}
