/**
 * The pairs that an exchange may explain: of plants whose history contradicts itself, each with its
 * neighbours, and with such strangers as contradict themselves in turn and match.
 */
import type { PlantId } from '../../ids/plant-id.js';
import type { Plant } from '../../ledger/model.js';
import { FIG_TYPES } from '../../observe/type-likelihoods.js';
import { categoryOf } from '../traits.js';
import { likeliest, type Weighed, weighPair } from './exchange-day.js';
import type { GardenTraits } from './garden.js';
import type { DayRecord, PlantHistory } from './history.js';
import { logAsOnePlant, TYPE } from './one-plant.js';
import { DOUBTS } from './parameters.js';
import type { Partners } from './partners.js';

/** A plant whose history contradicts itself. */
export interface Suspect {
  readonly history: PlantHistory;
  /** Exchanged with another of which nothing is known. */
  readonly alone: Weighed;
}

export interface Pair {
  readonly a: PlantHistory;
  readonly b: PlantHistory;
  readonly weighed: Weighed;
  /** Odds that they were exchanged, against that neither ever was: prior odds times Bayes factor. */
  readonly odds: number;
}

/** Odds are kept below this, so that sums of them stay numbers. */
const MOST_ODDS = 1e100;

/** Odds of an exchange in so many years, of which the other plant has this share. */
export function oddsOf({ years, logBayesFactor }: Weighed, share: number): number {
  return Math.min(MOST_ODDS, DOUBTS.exchangedAYear * share * years * Math.exp(logBayesFactor));
}

export interface WeighedPairs {
  /** Those whose odds are worth naming. */
  readonly pairs: readonly Pair[];
  /** Of each plant's exchanges, the share that is with those it was weighed with. */
  readonly shares: ReadonlyMap<PlantId, number>;
}

/** @param historyOf what was seen on a plant that is no suspect */
export async function weighPairs(
  suspects: readonly Suspect[],
  partners: Partners,
  garden: GardenTraits,
  historyOf: (plant: Plant) => Promise<PlantHistory>,
): Promise<WeighedPairs> {
  const known = new Map<PlantId, PlantHistory>(suspects.map(({ history }) => [history.plant.id, history]));
  const fits = new WeakMap<PlantHistory, number>();
  const alone = (history: PlantHistory): number => {
    let fit = fits.get(history);
    if (fit === undefined) {
      fit = logAsOnePlant(history.records, garden);
      fits.set(history, fit);
    }
    return fit;
  };
  const pairs: Pair[] = [];
  const shares = new Map<PlantId, number>();
  const done = new Set<string>();
  const weigh = (a: PlantHistory, b: PlantHistory): void => {
    const [one, two] = a.plant.number < b.plant.number ? [a, b] : [b, a];
    const key = `${one.plant.number} ${two.plant.number}`;
    if (done.has(key)) return;
    done.add(key);
    const share = partners.share(one.plant, two.plant);
    const weighed = weighPair(one, two, garden, alone);
    for (const { plant } of [one, two]) shares.set(plant.id, (shares.get(plant.id) ?? 0) + share);
    const odds = oddsOf(weighed, share);
    if (odds >= DOUBTS.negligible) pairs.push({ a: one, b: two, weighed, odds });
  };
  for (const { history } of suspects) {
    for (const plant of partners.near(history.plant)) {
      weigh(history, known.get(plant.id) ?? (await historyOf(plant)));
    }
  }
  for (const [a, b] of strangers(suspects, partners, garden)) weigh(a, b);
  return { pairs, shares };
}

/** What a plant was like before and after the day on which it most likely became another. */
interface Signed {
  readonly history: PlantHistory;
  readonly logGain: number;
  readonly years: number;
  readonly early: readonly Sign[];
  readonly late: readonly Sign[];
}

/** Of one trait, by the number of the trait. Undefined where nothing was seen. */
type Sign = { readonly code: number; readonly logRarity: number } | undefined;

/** A trait that differs may have been misjudged. */
const LOG_UNLIKE = Math.log(0.2);

/** Suspects who are no neighbours, and whose odds may be worth weighing by a rough reckoning. */
function* strangers(
  suspects: readonly Suspect[],
  partners: Partners,
  garden: GardenTraits,
): Generator<readonly [PlantHistory, PlantHistory]> {
  const signer = new Signer(garden);
  const signed = suspects.map((suspect) => signer.sign(suspect)).sort((a, b) => b.logGain - a.logGain);
  const rarest = Math.max(0, ...signed.map(({ early, late }) => rarity(early) + rarity(late)));
  // What two plants share that are not near.
  const share = 1 / Math.max(1, partners.plants.length - 1);
  const worth = Math.log(DOUBTS.worthWeighing / (DOUBTS.exchangedAYear * share));
  for (const [at, a] of signed.entries()) {
    for (let next = at + 1; next < signed.length; next++) {
      const b = signed[next] as Signed;
      const most = a.logGain + b.logGain + Math.log(Math.max(a.years, b.years));
      if (most + rarest < worth) break;
      if (most + likeness(a.early, b.late) + likeness(b.early, a.late) < worth) continue;
      yield [a.history, b.history];
    }
  }
}

function rarity(signs: readonly Sign[]): number {
  return signs.reduce((sum, sign) => sum + (sign?.logRarity ?? 0), 0);
}

function likeness(one: readonly Sign[], two: readonly Sign[]): number {
  let sum = 0;
  for (let trait = 0; trait < one.length; trait++) {
    const [here, there] = [one[trait], two[trait]];
    if (here === undefined || there === undefined) continue;
    sum += here.code === there.code ? here.logRarity : LOG_UNLIKE;
  }
  return sum;
}

class Signer {
  readonly #traits = new Map<string, number>([[TYPE, 0]]);
  readonly #codes = new Map<string, number>();

  constructor(readonly garden: GardenTraits) {}

  sign({ history, alone }: Suspect): Signed {
    const best = likeliest(alone);
    const byDay = best?.byDay ?? 0;
    return {
      history,
      logGain: best?.logRatio ?? 0,
      years: alone.years,
      early: this.#signs(history.records.filter(({ day }) => day < byDay)),
      late: this.#signs(history.records.filter(({ day }) => day >= byDay)),
    };
  }

  #signs(records: readonly DayRecord[]): Sign[] {
    const signs: Sign[] = [typeSign(records)];
    const last = new Map(records.flatMap(({ values }) => [...values]));
    for (const [trait, value] of last) {
      // Numbers are never quite alike; they are left to the weighing.
      if (typeof value === 'number') continue;
      const code = numberOf(this.#codes, categoryOf(value));
      const dated = { value, day: 0 };
      const logRarity = Math.log(this.garden.model(trait).ratio(dated, dated));
      signs[numberOf(this.#traits, trait)] = { code, logRarity };
    }
    return signs;
  }
}

function numberOf(numbers: Map<string, number>, name: string): number {
  const number = numbers.get(name) ?? numbers.size;
  numbers.set(name, number);
  return number;
}

/** The sex, if it is all but certain. */
function typeSign(records: readonly DayRecord[]): Sign {
  const shares = FIG_TYPES.map((_, type) =>
    records.reduce((product, { types }) => product * (types?.[type] ?? 1), 1),
  );
  const all = shares.reduce((sum, share) => sum + share, 0);
  const females = FIG_TYPES.reduce(
    (sum, type, at) => sum + (type.endsWith('female') ? (shares[at] as number) : 0),
    0,
  );
  const isFemale = females / all > 0.5;
  const sure = isFemale ? females / all : 1 - females / all;
  return sure < 0.8 ? undefined : { code: isFemale ? 1 : 0, logRarity: Math.LN2 };
}
