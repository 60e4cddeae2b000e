/**
 * What a walk settles, written as one change: sightings, tags given up so that their next issue is queued,
 * doubts about tags that hang in each other's places. A sighting is an observation of where a plant stands
 * (`station`), with the traits seen there; the plant stands where it was seen last.
 */
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger, LedgerReader, LedgerWriter, Recorded } from '../ledger/ledger.js';
import type { Doubt, ObservedValues, Plant } from '../ledger/model.js';
import { recordSeen } from '../observe/observation.js';
import { quote } from '../wording.js';
import type { Finding } from './findings.js';
import { daysHungWrong, type HungWrong } from './hung-wrong.js';
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
  /** Plants whose tags hang in each other's places: what was seen by them on those days is doubtful. */
  readonly doubted: readonly Doubt[];
  /** The change, which can be undone; null if nothing had to be written. */
  readonly change: Recorded | null;
}

/** The walk as it was found, and what was written of it. */
export interface Settlement {
  readonly report: WalkReport;
  readonly days: ReadonlyMap<Finding, HungWrong>;
  readonly written: Written;
}

/** What of it is written so far. */
type Part = Omit<Written, 'change'> & { readonly entries: number };

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
): Promise<Settlement> {
  return ledger.write(by, async (writer) => {
    const report = await examineWalk(writer, ledger.idLength, rows, date);
    const days = await daysHungWrong(writer, report.exchanges.keys(), date);
    const settled: Settled[] = [];
    for (const one of accepted) settled.push(await accept(writer, report, one, settled));
    const taken = await write(writer, report, settled, date);
    if (!certain) return { report, days, written: await asChange(writer, date, [taken]) };
    const left = settled.length === 0 ? report : await examineWalk(writer, ledger.idLength, rows, date);
    const clear = await write(writer, left, certainties(left), date);
    const unclear = await doubt(writer, left, date);
    return { report, days, written: await asChange(writer, date, [taken, clear, unclear]) };
  });
}

async function asChange(writer: LedgerWriter, date: string, parts: readonly Part[]): Promise<Written> {
  const moved = parts.flatMap((part) => part.moved);
  const voided = parts.flatMap((part) => part.voided);
  const doubted = parts.flatMap((part) => part.doubted);
  const sum = (count: (part: Part) => number) => parts.reduce((total, part) => total + count(part), 0);
  const [sighted, entries] = [sum((part) => part.sighted), sum((part) => part.entries)];
  if (entries === 0) return { moved, voided, sighted, doubted, change: null };
  const words = inWords(date, {
    sightings: sighted,
    moves: moved.length,
    'tags given up': voided.length,
    doubts: doubted.length,
  });
  const change = await writer.append({ kind: 'changed', body: { what: 'walk', words, entries } });
  return { moved, voided, sighted, doubted, change };
}

/** `walk of 2026-09-25, sightings: 73, moves: 5`. */
function inWords(date: string, counts: Readonly<Record<string, number>>): string {
  const written = Object.entries(counts).filter(([, count]) => count > 0);
  return [`walk of ${date}`, ...written.map(([what, count]) => `${what}: ${count}`)].join(', ');
}

/** What needs no person's judgement. */
export function certainties({ comparison, exchanges, proposals }: WalkReport): Settled[] {
  const open = new Set(comparison.openPots.map(({ spot }) => spot));
  const moved = new Set(
    comparison.findings.flatMap(({ kind, spots }) => (kind === 'moved' ? spots.slice(0, 1) : [])),
  );
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
    if (plant === null || probability < WALK.certain) continue;
    const isAtHome = plant.station !== null && placeOf(plant.station).key === spot.place.key;
    if (isAtHome && worn === null) settled.push({ spot, plant, needsTag: true });
    if (worn?.id === plant.id && moved.has(spot)) settled.push({ spot, plant, needsTag: false });
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
  { knowledge, exchanges }: WalkReport,
  settled: readonly Settled[],
  date: string,
): Promise<Part> {
  const moved: { id: PlantId; from: string | null; to: string }[] = [];
  const voided: { id: PlantId; issue: number }[] = [];
  const last = await writer.lastTags(settled.filter(({ needsTag }) => needsTag).map(({ plant }) => plant.id));
  const open = await doubtsSettled(writer, exchanges.keys(), settled);
  let sighted = 0;
  for (const { spot, plant, needsTag } of settled) {
    const isAtHome = plant.station !== null && placeOf(plant.station).key === spot.place.key;
    const station = isAtHome ? (plant.station as string) : spot.station;
    if (!isAtHome) moved.push({ id: plant.id, from: plant.station, to: station });
    const tag = last.get(plant.id);
    if (needsTag && tag?.status === 'current') {
      const why = spot.reading.kind === 'spoilt' ? 'damaged' : 'lost';
      await writer.append({ kind: 'tag-voided', body: { id: plant.id, issue: tag.issue, why } });
      voided.push({ id: plant.id, issue: tag.issue });
    }
    const before = knowledge.known('station', plant.id);
    if (isAtHome && before?.value === station && before.date === date) continue; // Written before.
    const { reading } = spot;
    const isOwn = reading.kind === 'tag' && reading.plant.id === plant.id;
    const on = {
      plant,
      issue: isOwn ? reading.issue : null,
      withoutTag: !isOwn || reading.state !== 'current',
    };
    const values: ObservedValues = { station, ...Object.fromEntries(spot.traits) };
    await recordSeen(writer, on, { date, values, photo: null });
    sighted++;
  }
  for (const { entry } of open) {
    const why = 'the pots had moved, with their tags';
    await writer.append({ kind: 'withdrawn', body: { entry, why } });
  }
  return { moved, voided, sighted, doubted: [], entries: sighted + voided.length + open.length };
}

/** Earlier doubts about tags in each other's places, where it is settled now that the pots had moved. */
async function doubtsSettled(
  ledger: LedgerReader,
  findings: Iterable<Finding>,
  settled: readonly Settled[],
): Promise<Doubt[]> {
  const ids = new Set(settled.map(({ plant }) => plant.id));
  const doubts: Doubt[] = [];
  for (const { plants } of findings) {
    if (plants.every(({ id }) => ids.has(id))) doubts.push(...(await doubtsAbout(ledger, plants)));
  }
  return doubts;
}

/** Open doubts about just these plants. */
async function doubtsAbout(ledger: LedgerReader, plants: readonly Plant[]): Promise<Doubt[]> {
  const [first] = plants;
  const about = first === undefined ? [] : await ledger.doubts(first.id);
  const ids = plants.map(({ id }) => id);
  return about.filter(
    (doubt) => doubt.plants.length === ids.length && ids.every((id) => doubt.plants.includes(id)),
  );
}

/**
 * Marks as doubtful what was seen by tags that hang in each other's places, unless it is certain that the pots had moved
 * with them: likely is not enough, since what stands on the wrong plant would count. One doubt takes in the earlier
 * ones about the same plants.
 */
async function doubt(writer: LedgerWriter, { exchanges }: WalkReport, date: string): Promise<Part> {
  const unclear = [...exchanges].filter(([, { potsMoved }]) => potsMoved < WALK.certain);
  const days = await daysHungWrong(
    writer,
    unclear.map(([finding]) => finding),
    date,
  );
  const doubted: Doubt[] = [];
  let entries = 0;
  for (const [{ plants }, { after, until, observations }] of days) {
    const earlier = await doubtsAbout(writer, plants);
    const isKnown = earlier.some((one) => (one.after ?? '') <= (after ?? '') && one.until >= until);
    if (observations === 0 || isKnown) continue;
    for (const { entry } of earlier) {
      const why = 'a later walk found the same';
      await writer.append({ kind: 'withdrawn', body: { entry, why } });
    }
    const body = { plants: plants.map(({ id }) => id), after, until };
    const { number, id } = await writer.append({ kind: 'doubted', body });
    doubted.push({ number, entry: id, ...body });
    entries += 1 + earlier.length;
  }
  return { moved: [], voided: [], sighted: 0, doubted, entries };
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
