/**
 * Whether what was read in one photo is one plant's, so that what was seen can only have been seen on that one.
 *
 * The tag of another plant in the picture is a doubt, whatever the state of that tag. So is one whose plant is not
 * certain: given up (it may hang on another), never printed here or of no plant here (all ledgers give out the same
 * IDs, so it is another garden's), misread, or read from what is left of it and not surely. A code that is no tag's
 * is none: a supplier's barcode holds no ID with an issue.
 */
import { isTagText } from '../codes/tag-text.js';
import type { ScanStatus } from './resolve.js';

/** What of a scan counts here. */
export interface ReadInPhoto {
  readonly text: string | null;
  readonly status: ScanStatus;
  readonly plant: { readonly id: string } | null;
  readonly how: { readonly by: 'decoder' | 'ledger' } | null;
}

/**
 * - `no current tag`: nothing names a plant for certain
 * - `several plants`: the tags name more than one
 * - `uncertain tag`: beside one plant's tag there is one whose plant is not certain
 */
export type NotOnePlant = 'no current tag' | 'several plants' | 'uncertain tag';

export type CurrentTag<Read extends ReadInPhoto> = Read & { readonly plant: NonNullable<Read['plant']> };

/** The current tag of the one plant, or why there is none. */
export type OnePlant<Read extends ReadInPhoto> =
  | { readonly tag: CurrentTag<Read>; readonly whyNot: null }
  | { readonly tag: null; readonly whyNot: NotOnePlant };

export function onePlantIn<Read extends ReadInPhoto>(photo: readonly Read[]): OnePlant<Read> {
  const tag = photo.find(isCurrentTag);
  if (tag === undefined) return { tag: null, whyNot: 'no current tag' };
  if (photo.some(({ plant }) => plant !== null && plant.id !== tag.plant.id)) {
    return { tag: null, whyNot: 'several plants' };
  }
  return photo.some(isUncertainTag) ? { tag: null, whyNot: 'uncertain tag' } : { tag, whyNot: null };
}

export function isCurrentTag<Read extends ReadInPhoto>(read: Read): read is CurrentTag<Read> {
  return read.status === 'current' && read.plant !== null;
}

function isUncertainTag({ text, status, how }: ReadInPhoto): boolean {
  if (status === 'current' || status === 'superseded') return false;
  return how?.by === 'ledger' || (text !== null && isTagText(text));
}
