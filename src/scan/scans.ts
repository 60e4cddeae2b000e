/**
 * Scans of one call, typed or from photos, and what was seen recorded under those that name a plant.
 */
import { InputError } from '../errors.js';
import { readInput } from '../files.js';
import { PHOTOS_FOLDER } from '../ledger/folders.js';
import type { Ledger } from '../ledger/ledger.js';
import type { Observation, ObservedValues, Photo, Plant } from '../ledger/model.js';
import { checkAgainstPlant, doubtAbout, recordSeen } from '../observe/observation.js';
import { type CurrentTag, isCurrentTag, type NotOnePlant, onePlantIn } from './one-plant.js';
import { pictureKind } from './picture.js';
import type { Explanation } from './reading/explain-canvas.js';
import { type Resolution, resolve } from './resolve.js';
import type { PhotoReader, TagPart, TagsRead } from './tag-reader.js';

/** `text` is null for a photo in which no code could be read. */
export interface Scan extends Omit<Resolution, 'text'> {
  readonly text: string | null;
  /** The photo it was read from; null for typed text. */
  readonly photo: string | null;
  readonly observation: Observation | null;
  /** Why there is no observation although one was asked for; null otherwise. */
  readonly notRecorded: string | null;
  /** What makes it doubtful that this is the plant; null otherwise. */
  readonly doubt: string | null;
  /** How a photo's tag was read; null for typed text, and where nothing was. */
  readonly how: ReadHow | null;
}

/** What to record under each plant scanned. Nothing is recorded without values and without a photo. */
export interface ToRecord {
  readonly by: string;
  readonly date: string;
  readonly values: ObservedValues;
  /** Keep the photo with the observation. */
  readonly keepPhoto: boolean;
}

/** A scan before anything is recorded. */
type Resolved = Omit<Scan, 'observation' | 'notRecorded' | 'doubt'>;

interface PhotoFile {
  readonly file: string;
  readonly bytes: Uint8Array;
}

/** Scans that belong together, and the tags among them under which to record. */
interface Group {
  readonly resolved: readonly Resolved[];
  readonly tags: readonly CurrentTag<Resolved>[];
  /** Why nothing is recorded for the others; null where all belong to what is. */
  readonly whyNot: NotOnePlant | null;
  /** The photo to keep with the observations. */
  readonly photo: PhotoFile | null;
}

/**
 * Scans typed texts. With `photoFile` and `keepPhoto`, that photo (of the fruit, say) is kept with the
 * observation.
 */
export async function scanTexts(
  ledger: Ledger,
  texts: readonly string[],
  toRecord: ToRecord,
  photoFile: string | null,
): Promise<Scan[]> {
  const resolved: Resolved[] = [];
  for (const text of texts) resolved.push({ ...(await resolve(ledger, text)), photo: null, how: null });
  const photo = photoFile === null ? null : readPhotoFile(photoFile);
  const tags = onePerPlant(resolved.filter(isCurrentTag));
  return record(ledger, [{ resolved, tags, whyNot: 'no current tag', photo }], toRecord);
}

/** Reads the tags in photos. What was seen is recorded only where a photo is one plant's. */
export async function scanPhotos(
  ledger: Ledger,
  files: readonly string[],
  toRecord: ToRecord,
  reader?: PhotoReader,
): Promise<Scan[]> {
  const photoReader = reader ?? (await readerOf(ledger));
  const groups: Group[] = [];
  for (const file of files) {
    const photo = readPhotoFile(file);
    const read = await resolvePhoto(ledger, photoReader, photo.bytes).catch((error: unknown) => {
      throw error instanceof InputError ? inFile(error, file) : error;
    });
    const resolved: Resolved[] = read.map((resolution) => ({ ...resolution, photo: file }));
    if (resolved.length === 0) resolved.push(nothingRead(file));
    const { tag, whyNot } = onePlantIn(resolved);
    groups.push({ resolved, tags: tag === null ? [] : [tag], whyNot, photo });
  }
  return record(ledger, groups, toRecord);
}

/** How a tag in a photo was read: by the symbol alone, or by what is left of it and the tags there are. */
export type ReadHow =
  | { readonly by: 'decoder' }
  | {
      readonly by: 'ledger';
      readonly part: TagPart;
      readonly probability: number;
      readonly shown: Explanation | null;
    };

export type PhotoResolution = Resolution & { readonly how: ReadHow };

/**
 * What the tags in a photo name; each text once, none if nothing could be read. The tags of the ledger are
 * held against what is left of a symbol where the decoders read nothing, and beside what they read.
 * @throws InputError if the bytes are not a sound picture
 */
export async function resolvePhoto(
  ledger: Ledger,
  reader: PhotoReader,
  bytes: Uint8Array,
): Promise<PhotoResolution[]> {
  return resolveRead(ledger, await reader.read(bytes));
}

/** What the tags that were read in a photo, or in several of one thing, name. */
export async function resolveRead(ledger: Ledger, { texts, damaged }: TagsRead): Promise<PhotoResolution[]> {
  const resolutions: PhotoResolution[] = [];
  for (const text of texts) resolutions.push({ ...(await resolve(ledger, text)), how: { by: 'decoder' } });
  if (damaged.length === 0) return resolutions;
  const { resolveDamaged } = await import('./reading/resolve-readings.js');
  return [...resolutions, ...(await resolveDamaged(ledger, damaged))];
}

/**
 * One that reads in this thread, and packs the ledger's tags once for all photos.
 * @param isShowing whether it draws why a damaged tag was read as it was
 */
export async function readerOf(ledger: Ledger, isShowing = false): Promise<PhotoReader> {
  const [{ TagReader }, { tagsOf }] = await Promise.all([
    import('./tag-reader.js'),
    import('./reading/tags-since.js'),
  ]);
  return new TagReader(tagsOf(ledger), ledger.idLength, isShowing);
}

function onePerPlant<T extends { readonly plant: Plant }>(tags: readonly T[]): T[] {
  return [...new Map(tags.toReversed().map((tag) => [tag.plant.id, tag])).values()].toReversed();
}

/** Records under the tags of all groups, or, if one of them cannot have been seen so, under none. */
async function record(ledger: Ledger, groups: readonly Group[], toRecord: ToRecord): Promise<Scan[]> {
  const { by, date, values, keepPhoto } = toRecord;
  const isAsked = Object.keys(values).length > 0 || keepPhoto;
  const observations = new Map<Resolved, Observation>();
  if (isAsked && groups.some(({ tags }) => tags.length > 0)) {
    for (const { tags } of groups) for (const { plant } of tags) checkAgainstPlant(plant, date);
    const kept: (Photo | null)[] = [];
    for (const { photo, tags } of groups) {
      const isKept = keepPhoto && photo !== null && tags.length > 0;
      kept.push(isKept ? await keepPhotoFile(ledger.folder, photo) : null);
    }
    await ledger.write(by, async (writer) => {
      for (const [index, { tags }] of groups.entries()) {
        const seen = { date, values, photo: kept[index] ?? null };
        for (const tag of tags) observations.set(tag, await recordSeen(writer, tag, seen));
      }
    });
  }
  return groups.flatMap(({ resolved, tags, whyNot }) => {
    const isRecorded = (scan: Resolved) =>
      tags.some((tag) => tag === scan || (tag.plant.id === scan.plant?.id && scan.status === 'current'));
    return resolved.map((scan) => ({
      ...scan,
      observation: observations.get(scan) ?? null,
      notRecorded: !isAsked || isRecorded(scan) || whyNot === null ? null : WHY_NOT[whyNot],
      doubt: isAsked && isRecorded(scan) ? doubtAbout(scan.plant, values) : null,
    }));
  });
}

const WHY_NOT: Readonly<Record<NotOnePlant, string>> = {
  'no current tag': 'the plant is not certain',
  'several plants': 'the photo shows tags of several plants; scan the one that was observed by itself',
  'uncertain tag':
    'the photo shows another tag, whose plant is not certain; scan the one that was observed by itself',
};

function nothingRead(file: string): Resolved {
  return {
    text: null,
    id: null,
    issue: null,
    status: 'unreadable',
    plant: null,
    voidedBecause: null,
    candidates: [],
    photo: file,
    how: null,
  };
}

function readPhotoFile(file: string): PhotoFile {
  return { file, bytes: readInput(file) };
}

/** Its name follows from its content, so that nothing but a picture comes to lie in the folder. */
async function keepPhotoFile(ledgerFolder: string, { bytes }: PhotoFile): Promise<Photo> {
  const { keepFile } = await import('../ledger/kept-files.js');
  return keepFile(ledgerFolder, PHOTOS_FOLDER, bytes, pictureKind(bytes));
}

function inFile(error: InputError, file: string): InputError {
  return new InputError(error.code, error.message, error.hint, { file }, error.problems, { cause: error });
}
