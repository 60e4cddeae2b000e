/**
 * A plant's fruit as it comes: a wave for each crop on each kind of wood, from set to ripe or fallen.
 */
import type { Observation } from '../ledger/model.js';
import { daysBetween } from './fruiting.js';
import type { Between } from './turnbull.js';

export type Wood = 'new' | 'old' | null;

export interface Wave {
  wood: Wood;
  /** The day it was first seen. */
  readonly since: string;
  /** As what: a fruit first seen swelling had set before. */
  readonly seenAs: 'set' | 'swelling' | 'ripe';
  /** The last day on which it was seen and was not ripe. */
  lastUnripe: string | null;
  firstRipe: string | null;
  /** `gone`: picked, eaten or fallen. */
  state: 'growing' | 'ripe' | 'gone';
  lastSeen: string;
}

/** Nobody looked for so long: what is seen next is another crop. */
const NEXT_CROP_DAYS = 200;

/** What is measured or tasted has been picked. */
const PICKED_BY = ['inside', 'brix', 'weight', 'liking'] as const;

/** All waves of a plant, oldest first. */
export function wavesOf(observations: readonly Observation[]): Wave[] {
  const waves: Wave[] = [];
  for (const { date, values } of observations) {
    const { fruit } = values;
    if (fruit === undefined) continue;
    const wood: Wood = values.wood === 'new' || values.wood === 'old' ? values.wood : null;
    const wave = waveFor(waves, wood, fruit, date);
    if (wave === undefined) continue;
    wave.wood ??= wood;
    wave.lastSeen = date;
    if (fruit === 'set' || fruit === 'swelling') {
      wave.state = 'growing';
      if (wave.firstRipe === null) wave.lastUnripe = date;
    } else if (fruit === 'ripe') {
      wave.firstRipe ??= date;
      wave.state = PICKED_BY.some((trait) => values[trait] !== undefined) ? 'gone' : 'ripe';
    } else {
      wave.state = 'gone';
    }
  }
  return waves;
}

/** The one it belongs to, or a new one; undefined for the end of what was never seen before. */
function waveFor(waves: Wave[], wood: Wood, fruit: string | number, date: string): Wave | undefined {
  const known = waves.findLast(
    (wave) =>
      (wave.wood === wood || wave.wood === null || wood === null) &&
      daysBetween(wave.lastSeen, date) <= NEXT_CROP_DAYS,
  );
  // After ripe fruit was picked, what is seen next set later than that did.
  const isNewCrop = known?.state === 'gone' && (fruit === 'set' || known.firstRipe !== null);
  if (known !== undefined && !isNewCrop) return known;
  if (fruit !== 'set' && fruit !== 'swelling' && fruit !== 'ripe') return undefined;
  const wave: Wave = {
    wood,
    since: date,
    seenAs: fruit,
    lastUnripe: null,
    firstRipe: null,
    state: 'growing',
    lastSeen: date,
  };
  waves.push(wave);
  return wave;
}

/**
 * Days from set to ripe, as far as the looks tell; undefined where they tell nothing.
 * @param ripeHangsDays so long ripe fruit stays on the plant: it was not ripe earlier than that
 */
export function ripeningTime(wave: Wave, ripeHangsDays: number): Between | undefined {
  const { since, seenAs, lastUnripe, firstRipe } = wave;
  if (seenAs !== 'set') return undefined;
  const after = daysBetween(since, lastUnripe ?? since);
  if (firstRipe === null) return after > 0 ? { after, until: Infinity } : undefined;
  const until = daysBetween(since, firstRipe);
  return { after: Math.max(after, until - ripeHangsDays), until };
}
