/**
 * Tags that hang in each other's places: on which days they may have, and how much was seen by them then.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import type { Finding } from './findings.js';
import { placeOf } from './stations.js';

/** The days after `after` (null: since ever) up to `until`, the day of the walk. */
export interface HungWrong {
  readonly after: string | null;
  readonly until: string;
  /** So many observations were made by these tags on those days. */
  readonly observations: number;
}

/** @param findings those of kind `exchanged` and `rotated` */
export async function daysHungWrong(
  ledger: LedgerReader,
  findings: Iterable<Finding>,
  date: string,
): Promise<Map<Finding, HungWrong>> {
  const days = new Map<Finding, HungWrong>();
  for (const finding of findings) days.set(finding, await hungWrong(ledger, finding.plants, date));
  return days;
}

async function hungWrong(ledger: LedgerReader, plants: readonly Plant[], until: string): Promise<HungWrong> {
  const sure = await Promise.all(plants.map((plant) => lastSure(ledger, plant, until)));
  const after = sure.includes(null) ? null : ((sure as string[]).toSorted()[0] ?? null);
  let observations = 0;
  for (const { id } of plants) {
    const seen = await ledger.observations(id);
    observations += seen.filter(({ byTag, date }) => byTag && date > (after ?? '') && date <= until).length;
  }
  return { after, until, observations };
}

/** The last day before the walk on which the plant's tag was seen in its place, or was printed. */
async function lastSure(ledger: LedgerReader, { id, station }: Plant, walk: string): Promise<string | null> {
  const home = placeOf(station ?? '').key;
  const inPlace = (await ledger.observations(id)).filter(
    ({ byTag, date, values }) =>
      byTag && date < walk && values.station !== undefined && placeOf(String(values.station)).key === home,
  );
  const seen = inPlace.at(-1)?.date ?? null;
  const printed = (await ledger.tags(id)).at(-1)?.issuedAt.slice(0, 'yyyy-mm-dd'.length) ?? null;
  const days = [seen, printed].filter((day) => day !== null && day < walk);
  return days.toSorted().at(-1) ?? null;
}

/**
 * The exchanges that put right what was seen: each spot's tag goes to the plant that is expected there. A
 * cycle of n is n - 1 exchanges of its first plant, one after the other.
 */
export function exchangesThatPutRight({ spots, plants }: Finding): (readonly [Plant, Plant])[] {
  const potWearing = (plant: Plant): Plant | undefined => {
    const spot = spots[plants.indexOf(plant)];
    return plants.find(({ station }) => spot !== undefined && placeOf(station ?? '').key === spot.place.key);
  };
  const [first] = plants;
  const pairs: (readonly [Plant, Plant])[] = [];
  for (let plant = first && potWearing(first); first && plant && plant !== first; plant = potWearing(plant)) {
    pairs.push([first, plant]);
    if (pairs.length === plants.length) break;
  }
  return pairs;
}
