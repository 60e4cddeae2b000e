/**
 * Reads damaged tags by the ledger: every tag ever issued is held against what is left of the symbols in
 * a picture.
 */
import { type Characters, charactersOf } from './characters.js';
import { type Evidence, evidenceOf } from './evidence.js';
import { type Find, type Found, TagSearch } from './find.js';
import { findIdRow } from './id-row.js';
import { middleOf, type Pose, scaledPose } from './pose.js';
import { judge, type Suspect } from './posterior.js';
import { stripsOf } from './row-strips.js';
import type { Searchable } from './searchable.js';
import { idLengthOf, type TagCodes } from './tag-codes.js';

/** At this probability or above a tag counts as read. */
export const READ_AT = 0.9999;
/** At this one or above it is offered, for a person to confirm. */
export const OFFERED_AT = 0.9;
/** Less likely tags are no help to someone choosing at a bench. */
export const LEAST_NAMED = 0.01;

/**
 * Where the symbol leaves less hope of a tag of the ledger, no ID is looked for beside it. Of damaged tags
 * that were read with the help of their ID none left less than 1e-6; of wrong places most leave 1e-12.
 */
const LEAST_HOPE = 1e-9;

export interface LedgerReading {
  /** Tag texts, likeliest first, with the probability that it is this tag of all there could be. */
  readonly suspects: readonly Suspect[];
  /** In pixels of the picture. */
  readonly pose: Pose;
  readonly evidence: Evidence;
  /** What the printed ID says; null where none is seen. */
  readonly characters: Characters | null;
  /** How well the place agrees with what is alike on all tags. */
  readonly agreement: number;
}

/**
 * What stands at each place where a tag may be, surest first. Finder patterns are asked only where frames offer
 * nothing, and what they show is never taken: every QR code has them, and only a tag has its frame.
 */
export function readByLedger(picture: Searchable, codes: TagCodes): LedgerReading[] {
  const search = new TagSearch(picture.levels, codes.known);
  const byFrames = readPlaces(picture, search.byFrames(), codes);
  if (byFrames.some(isOffered)) return surestFirst(picture, byFrames);
  return surestFirst(picture, neverTaken(readPlaces(picture, search.byFinders(), codes, byFrames)));
}

/** As `readByLedger`, only where finder patterns are seen. */
export const readByFinders = (picture: Searchable, codes: TagCodes): LedgerReading[] =>
  readFinds({ ...picture, finds: new TagSearch(picture.levels, codes.known).byFinders() }, codes);

/** As `readByLedger`, of places that were found already. */
export const readFinds = (found: Found, codes: TagCodes): LedgerReading[] =>
  surestFirst(found, readPlaces(found, found.finds, codes));

function surestFirst({ halvings }: Searchable, readings: readonly LedgerReading[]): LedgerReading[] {
  return [...readings]
    .sort((a, b) => probabilityOf(b) - probabilityOf(a))
    .map((reading) => ({ ...reading, pose: scaledPose(reading.pose, 2 ** halvings) }));
}

/**
 * Poses are in pixels of the largest level.
 * @param before what was read already: each place is named once
 */
function readPlaces(
  picture: Searchable,
  finds: readonly Find[],
  codes: TagCodes,
  before: readonly LedgerReading[] = [],
): LedgerReading[] {
  const readings = [...before];
  for (const find of finds) {
    if (readings.some((other) => isRead(other) && isSamePlace(other.pose, find.pose))) continue;
    const fitted = find.fit();
    if (fitted === null) continue;
    const { pose, score } = fitted;
    const same = readings.findIndex((other) => isSamePlace(other.pose, pose));
    const evidence = evidenceOf(picture.planes, pose, codes.known);
    const bySymbol = judge(codes, evidence, score, null);
    const characters =
      bySymbol.ours < LEAST_HOPE ? null : readCharacters(picture, pose, evidence.contrast, idLengthOf(codes));
    const { suspects } = characters === null ? bySymbol : judge(codes, evidence, score, characters);
    const reading = { suspects, pose, evidence, characters, agreement: score };
    if (same < 0) readings.push(reading);
    else readings[same] = surestOf([readings[same] as LedgerReading, reading]);
  }
  return readings;
}

function readCharacters(
  { levels, planes }: Searchable,
  pose: Pose,
  contrast: number,
  idLength: number,
): Characters | null {
  const row = findIdRow(levels, pose, contrast, idLength);
  return row === null ? null : charactersOf(row, stripsOf(levels, planes, pose, row));
}

/** Whatever it was read from: tag texts, likeliest first. */
interface Suspected {
  readonly suspects: readonly Suspect[];
}

export const probabilityOf = (reading: Suspected | undefined): number =>
  reading?.suspects[0]?.probability ?? 0;
export const isRead = (reading: Suspected | undefined): boolean => probabilityOf(reading) >= READ_AT;

/**
 * Places that frames showed and that are no tag agreed by 468 at most, tags under three fifths of mud by 551 at least
 * (`posterior.ts`); other QR codes as small as a tag's, by their finder patterns, by up to 572.
 */
const SURELY_TAG = 540;
export const isSurelyTag = ({ agreement }: LedgerReading): boolean => agreement >= SURELY_TAG;

/** Asked of the plant: where the issue is covered, no tag of it may be likely enough. */
export function isOffered({ suspects }: Suspected): boolean {
  const id = idOf(suspects[0]);
  const ofPlant = suspects.filter((suspect) => idOf(suspect) === id);
  return ofPlant.reduce((sum, { probability }) => sum + probability, 0) >= OFFERED_AT;
}

const idOf = (suspect: Suspect | undefined): string | undefined => suspect?.text.split('.')[0];

/** What is not to be taken unasked, however sure it seems, is believed to this at most. */
const MOST_BELIEVED = 0.999;

const neverTaken = <Reading extends Suspected>(readings: readonly Reading[]): Reading[] =>
  readings.map((reading) => ({
    ...reading,
    suspects: reading.suspects.map(({ text, probability }) => ({
      text,
      probability: Math.min(MOST_BELIEVED, probability),
    })),
  }));

/** The readings that are sure enough to ask whether it is this tag, none so sure that it would be taken. */
export const onlyOffered = <Reading extends Suspected>(readings: readonly Reading[]): Reading[] =>
  neverTaken(readings.filter(isOffered));

/** Of ways to see one place the surest; where another contradicts it, neither is sure. */
export function surestOf<Reading extends Suspected>(readings: readonly [Reading, ...Reading[]]): Reading {
  const [best, ...rest] = readings.toSorted((a, b) => probabilityOf(b) - probabilityOf(a)) as [
    Reading,
    ...Reading[],
  ];
  const rival = rest.find(
    (other) => probabilityOf(other) >= 0.5 && other.suspects[0]?.text !== best.suspects[0]?.text,
  );
  return rival === undefined ? best : { ...best, suspects: mixed(best.suspects, rival.suspects) };
}

/** Half of the one's probabilities and half of the other's. */
function mixed(one: readonly Suspect[], other: readonly Suspect[]): Suspect[] {
  const halves = new Map<string, number>();
  for (const { text, probability } of [...one, ...other]) {
    halves.set(text, (halves.get(text) ?? 0) + probability / 2);
  }
  return [...halves]
    .map(([text, probability]) => ({ text, probability }))
    .sort((a, b) => b.probability - a.probability);
}

/** Whether the middle of one lies within half a diagonal of the other's. */
const isSamePlace = (a: Pose, b: Pose): boolean => shiftOf(a, b) < 0.5;

/** How far the middle of one lies from the other's, in diagonals of the former. */
export function shiftOf(a: Pose, b: Pose): number {
  const [one, other] = [middleOf(a), middleOf(b)];
  const diagonal = Math.hypot((a[0] as number) - (a[4] as number), (a[1] as number) - (a[5] as number));
  return Math.hypot(one.x - other.x, one.y - other.y) / diagonal;
}
