/**
 * What a walk settles, written: moves, tags given up so that their next issue is queued, sightings.
 * A sighting is an observation of where a plant stands (`station`), with the traits seen there.
 */
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger, LedgerReader, LedgerWriter } from '../ledger/ledger.js';
import type { ObservedValues, Plant } from '../ledger/model.js';
import { recordSeen } from '../observe/observation.js';
import { quote } from '../wording.js';
import { WALK } from './parameters.js';
import type { Spot } from './readings.js';
import type { WalkRow } from './rows.js';
import { placeOf } from './stations.js';
import { examineWalk, type WalkReport } from './walk.js';

/** A proposal taken by a person: `bench 2 / row 3 / 7` holds `K7FY5`. */
export interface Accepted {
  readonly station: string;
  readonly id: PlantId;
}

export interface ToWrite {
  readonly by: string;
  /** The day of the walk. */
  readonly date: string;
  /** Write all that is certain. */
  readonly certain: boolean;
  readonly accepted: readonly Accepted[];
}

export interface Written {
  readonly moved: readonly { readonly id: PlantId; readonly from: string | null; readonly to: string }[];
  /** Tags given up; the next issue of each is queued. */
  readonly voided: readonly { readonly id: PlantId; readonly issue: number }[];
  readonly sighted: number;
}

/** That a spot holds a plant, for certain or because a person says so. */
interface Settled {
  readonly spot: Spot;
  readonly plant: Plant;
  /** The plant's tag does not hang there: it is given up. */
  readonly needsTag: boolean;
}

/**
 * Examines the walk and writes, in one transaction: first what a person accepts, which may make more certain.
 * @throws InputError if something accepted is not to be had; nothing is written then
 */
export async function settleWalk(
  ledger: Ledger,
  rows: readonly WalkRow[],
  { by, date, certain, accepted }: ToWrite,
): Promise<{ report: WalkReport; written: Written }> {
  return ledger.write(by, async (writer) => {
    const report = await examineWalk(writer, ledger.idLength, rows, date);
    const settled: Settled[] = [];
    for (const one of accepted) settled.push(await accept(writer, report, one, settled));
    const taken = await write(writer, report, settled, date);
    if (!certain) return { report, written: taken };
    const left = settled.length === 0 ? report : await examineWalk(writer, ledger.idLength, rows, date);
    return { report, written: both(taken, await write(writer, left, certainties(left), date)) };
  });
}

function both(a: Written, b: Written): Written {
  return {
    moved: [...a.moved, ...b.moved],
    voided: [...a.voided, ...b.voided],
    sighted: a.sighted + b.sighted,
  };
}

/** What needs no person's judgement. */
export function certainties({ comparison, exchanges, proposals }: WalkReport): Settled[] {
  const open = new Set(comparison.openPots.map(({ spot }) => spot));
  const settled: Settled[] = [];
  for (const finding of comparison.findings) {
    const { kind, spots, plants } = finding;
    const [spot, plant] = [spots[0], plants[0]];
    if (spot === undefined || plant === undefined || open.has(spot)) continue;
    switch (kind) {
      case 'in-place':
      case 'awaiting-tag':
      case 'first-place':
      case 'moved':
        settled.push({ spot, plant, needsTag: false });
        break;
      case 'exchanged':
      case 'rotated':
        if ((exchanges.get(finding)?.potsMoved ?? 0) < WALK.certain) break;
        plants.forEach((each, index) => {
          settled.push({ spot: spots[index] as Spot, plant: each, needsTag: false });
        });
        break;
      default:
    }
  }
  for (const { pot, plant, probability } of proposals) {
    const { spot, worn } = pot;
    const isAtHome = plant?.station != null && placeOf(plant.station).key === spot.place.key;
    if (plant !== null && isAtHome && worn === null && probability >= WALK.certain) {
      settled.push({ spot, plant, needsTag: true });
    }
  }
  return settled;
}

async function accept(
  ledger: LedgerReader,
  report: WalkReport,
  { station, id }: Accepted,
  before: readonly Settled[],
): Promise<Settled> {
  const what = `--accept ${quote(`${station}=${id}`)}`;
  const { key } = placeOf(station);
  const pots = report.spots.filter(({ place, reading }) => place.key === key && reading.kind !== 'no pot');
  if (pots.length === 0) {
    throw refused(
      'not-walked',
      `${what}: the walk has no pot at this station.`,
      'Write the station as the walk does.',
    );
  }
  const plant = await ledger.plant(id);
  if (plant === undefined || plant.ended !== null) {
    const why =
      plant === undefined ? 'this ledger has no such plant' : `it was written off on ${plant.ended}`;
    throw refused('no-such-plant', `${what}: ${why}.`, 'Look at the ID again.');
  }
  const exchanged = exchangedSpot(report, key, id);
  const open = report.proposals.filter(({ pot }) => pot.spot.place.key === key);
  const own = open.find((proposal) => proposal.plant?.id === id) ?? open[0];
  const spot = exchanged ?? own?.pot.spot;
  if (spot === undefined) {
    throw refused(
      'nothing-open',
      `${what}: which plant stands there is no open question.`,
      whatElse(report, key),
    );
  }
  if (before.some((other) => other.spot === spot || other.plant.id === id)) {
    throw refused(
      'accepted-twice',
      `${what}: this pot or plant was accepted already.`,
      'Accept each of them once.',
    );
  }
  const seenAt = exchanged === undefined ? seenForCertain(report, id) : undefined;
  if (seenAt !== undefined) {
    throw refused(
      'seen-elsewhere',
      `${what}: ${id} stands at ${quote(seenAt)} with its own tag.`,
      'Look at both pots again.',
    );
  }
  const wears =
    spot.reading.kind === 'tag' && spot.reading.state === 'current' && spot.reading.plant.id === id;
  return { spot, plant, needsTag: !wears };
}

/** The spot, where an exchange or rotation put this plant's tag on the station's pot. */
function exchangedSpot({ exchanges }: WalkReport, key: string, id: PlantId): Spot | undefined {
  for (const { spots, plants } of exchanges.keys()) {
    const found = spots.find(({ place }, index) => place.key === key && plants[index]?.id === id);
    if (found !== undefined) return found;
  }
  return undefined;
}

function whatElse({ exchanges }: WalkReport, key: string): string {
  for (const { spots, plants } of exchanges.keys()) {
    const index = spots.findIndex(({ place }) => place.key === key);
    if (index === -1) continue;
    return `Either the pots moved (accept ${plants[index]?.id} there), or change the tags back and walk again.`;
  }
  return 'Accept only what is listed under "which plant is it".';
}

function seenForCertain({ comparison }: WalkReport, id: PlantId): string | undefined {
  const open = new Set(comparison.openPots.map(({ spot }) => spot));
  const finding = comparison.findings.find(({ plants }) => plants.some((plant) => plant.id === id));
  return finding?.spots.find(
    (spot) => !open.has(spot) && spot.reading.kind === 'tag' && spot.reading.plant.id === id,
  )?.station;
}

async function write(
  writer: LedgerWriter,
  { knowledge }: WalkReport,
  settled: readonly Settled[],
  date: string,
): Promise<Written> {
  const moved: { id: PlantId; from: string | null; to: string }[] = [];
  const voided: { id: PlantId; issue: number }[] = [];
  const last = await writer.lastTags(settled.filter(({ needsTag }) => needsTag).map(({ plant }) => plant.id));
  let sighted = 0;
  for (const { spot, plant, needsTag } of settled) {
    const isAtHome = plant.station !== null && placeOf(plant.station).key === spot.place.key;
    const station = isAtHome ? (plant.station as string) : spot.station;
    if (!isAtHome) {
      await writer.append({ kind: 'plant-amended', body: { id: plant.id, changes: { station } } });
      moved.push({ id: plant.id, from: plant.station, to: station });
    }
    const tag = last.get(plant.id);
    if (needsTag && tag?.status === 'current') {
      const why = spot.reading.kind === 'spoilt' ? 'damaged' : 'lost';
      await writer.append({ kind: 'tag-voided', body: { id: plant.id, issue: tag.issue, why } });
      voided.push({ id: plant.id, issue: tag.issue });
    }
    const before = knowledge.known('station', plant.id);
    if (before?.value === station && before.date === date) continue; // This walk was written before.
    const { reading } = spot;
    const issue = reading.kind === 'tag' && reading.plant.id === plant.id ? reading.issue : null;
    const values: ObservedValues = { station, ...Object.fromEntries(spot.traits) };
    await recordSeen(writer, { plant, issue }, { date, values, photo: null });
    sighted++;
  }
  return { moved, voided, sighted };
}

function refused(code: string, message: string, hint: string): InputError {
  return new InputError(code, message, `${hint} Nothing was written.`);
}

/** `STATION=ID`, as typed. @throws InputError */
export function parseAccepted(text: string, readId: (id: string) => PlantId | undefined): Accepted {
  const [, station, typed] = /^(.+)=([^=]+)$/su.exec(text) ?? [];
  const id = typed === undefined ? undefined : readId(typed);
  if (station === undefined || id === undefined) {
    throw refused(
      'bad-accept',
      `--accept ${quote(text)} is not a station, "=" and a whole ID.`,
      'Write it as --accept "bench 2 / row 3 / 7=K7FY5".',
    );
  }
  return { station: station.trim(), id };
}
