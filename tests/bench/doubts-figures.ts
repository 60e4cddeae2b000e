/**
 * How well exchanges in simulated gardens are found, and how often one is found where there was none.
 */
import type { History } from '../../src/ledger/model.js';
import { type DoubtsReport, findDoubts } from '../../src/walk/doubts/doubts.js';
import { type Exchanged, type SeenGarden, type Slips, simulateSeen } from './doubts-simulator.js';
import type { Share } from './walk-figures.js';

export interface DoubtsFigures {
  readonly gardens: number;
  /** Pairs and single plants wrongly said, beyond doubt, to be exchanged. */
  falseAlarms: number;
  /** The same, of those listed as perhaps exchanged. */
  falseListed: number;
  /** Of all exchanges. */
  readonly listed: Share;
  /** Of those that left a trace on both: leaf, colour or inside before and after, and never alike. */
  readonly tracesListed: Share;
  readonly tracesSaid: Share;
  /** Of the right pairs listed: the days named hold the day of the exchange. */
  readonly days: Share;
  readonly said: { readonly probability: number; readonly isRight: boolean }[];
}

/** @param exchangedShare of all plants */
export async function doubtsFiguresOf(
  gardens: number,
  plants: number,
  exchangedShare: number,
  slips: Slips,
  firstSeed: number,
): Promise<DoubtsFigures> {
  const none = (): Share => ({ right: 0, of: 0 });
  const figures: DoubtsFigures = {
    gardens,
    falseAlarms: 0,
    falseListed: 0,
    listed: none(),
    tracesListed: none(),
    tracesSaid: none(),
    days: none(),
    said: [],
  };
  for (let index = 0; index < gardens; index++) {
    const garden = simulateSeen(plants, exchangedShare, slips, firstSeed + index, 6);
    count(figures, garden, await doubtsAbout(garden.histories));
  }
  return figures;
}

export function doubtsAbout(histories: readonly History[]): Promise<DoubtsReport> {
  const byId = new Map(histories.map((history) => [history.plant.id, history]));
  return findDoubts({
    async *histories() {
      yield* histories;
    },
    async observations(id) {
      return [...(byId.get(id)?.observations ?? [])];
    },
  });
}

function count(figures: DoubtsFigures, { histories, exchanged }: SeenGarden, { doubts }: DoubtsReport): void {
  const truth = new Map(exchanged.map((one) => [pairKey(one.a, one.b), one]));
  const worn = new Set<string>(exchanged.flatMap(({ a, b }) => [a, b]));
  const found = new Map<string, boolean>();
  for (const { a, b, isSaid, probability, between } of doubts) {
    const is = b === null ? undefined : truth.get(pairKey(a.plant.id, b.plant.id));
    const isRight = b === null ? worn.has(a.plant.id) : is !== undefined;
    figures.said.push({ probability, isRight });
    if (!isRight && isSaid) figures.falseAlarms++;
    if (!isRight && !isSaid) figures.falseListed++;
    if (is === undefined) continue;
    found.set(pairKey(is.a, is.b), isSaid);
    tally(figures.days, between.from <= is.date && is.date <= between.to);
  }
  const byId = new Map(histories.map((history) => [history.plant.id, history]));
  for (const one of exchanged) {
    const isSaid = found.get(pairKey(one.a, one.b));
    tally(figures.listed, isSaid !== undefined);
    if (!leftTrace(one.a, one, byId) || !leftTrace(one.b, one, byId)) continue;
    tally(figures.tracesListed, isSaid !== undefined);
    tally(figures.tracesSaid, isSaid === true);
  }
}

function leftTrace(id: string, { date }: Exchanged, byId: ReadonlyMap<string, History>): boolean {
  const observations = byId.get(id)?.observations ?? [];
  return ['leaf', 'pulp colour', 'inside'].some((trait) => {
    const seen = (isLate: boolean) =>
      observations.flatMap(({ date: day, values }) => {
        const value = values[trait];
        return day >= date === isLate && value !== undefined && value !== 'dry' ? [value] : [];
      });
    const [early, late] = [seen(false), seen(true)];
    return early.length > 0 && late.length > 0 && !late.some((value) => early.includes(value));
  });
}

function pairKey(a: string, b: string): string {
  return [a, b].sort().join(' ');
}

function tally(share: Share, isRight: boolean): void {
  share.of++;
  if (isRight) share.right++;
}
