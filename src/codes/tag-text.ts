/**
 * Tag text, what a tag's symbol holds: the ID, a dot, the issue (`K7FY5.2`), or a link that ends
 * in it. And what people type of it: an ID alone, with characters they cannot read as `?`.
 */
import { canonical, ILLEGIBLE } from '../ids/alphabet.js';
import {
  findSoundId,
  hasIdShape,
  ID_LENGTHS,
  type IdLength,
  type Offer,
  offersFor,
  type PlantId,
} from '../ids/plant-id.js';
import { readSign } from './station-sign.js';

/** Issues are counted from 1; four digits fill a version 1 symbol at level H with an ID of length 5. */
export const HIGHEST_ISSUE = 9999;

/** Longest text looked at: a link of the length that a QR code of moderate size holds. */
const LONGEST_TEXT = 300;

export type TagReading =
  /** A sound ID; `issue` is null when only the ID was given. */
  | { readonly kind: 'sound'; readonly id: PlantId; readonly issue: number | null }
  /** The shape of an ID, but illegible or wrong somewhere. `pattern` is the ID part as read. */
  | {
      readonly kind: 'damaged';
      readonly pattern: string;
      readonly issue: number | null;
      readonly offers: readonly Offer[];
    }
  | { readonly kind: 'not a tag' };

/** The text of a tag: `K7FY5.2`. */
export function tagText(id: PlantId, issue: number): string {
  if (!Number.isInteger(issue) || issue < 1 || issue > HIGHEST_ISSUE) {
    throw new RangeError(`issue ${issue} is outside 1 to ${HIGHEST_ISSUE}`);
  }
  return `${id}.${issue}`;
}

/** What a piece of scanned or typed text says, for a ledger whose IDs have `length` characters. */
export function readTagText(text: string, length: IdLength): TagReading {
  if (readSign(text) !== undefined) return { kind: 'not a tag' };
  const match = /^([^.]*)(?:\.([0-9?]{1,4}))?$/.exec(canonical(withoutLink(text)));
  const pattern = match?.[1];
  if (pattern === undefined || !hasIdShape(pattern, length)) return { kind: 'not a tag' };
  const issue = readIssue(match?.[2]);
  if (issue === 0) return { kind: 'not a tag' };
  const id = findSoundId(pattern, length);
  if (id !== undefined && match?.[2]?.includes(ILLEGIBLE)) {
    // It may be the tag that was replaced.
    return { kind: 'damaged', pattern, issue, offers: [{ id, because: 'only the issue is illegible' }] };
  }
  if (id !== undefined) return { kind: 'sound', id, issue };
  return { kind: 'damaged', pattern, issue, offers: offersFor(pattern) };
}

/** Whether it is what a tag of any ledger holds, be it misread: every symbol holds the issue. */
export function isTagText(text: string): boolean {
  return ID_LENGTHS.some((length) => {
    const reading = readTagText(text, length);
    return reading.kind !== 'not a tag' && reading.issue !== null;
  });
}

/**
 * Whether a line of a session is meant for a tag. Spaces count for nothing in an ID, so that `leaf 5` has the shape
 * of a damaged one: a word, a space and a value are a tag only if they are a sound one.
 */
export function isTagLine(line: string, length: IdLength): boolean {
  const { kind } = readTagText(line, length);
  return kind === 'sound' || (kind === 'damaged' && !/^\p{L}[\p{L}-]*\s+\S/u.test(line.trim()));
}

/** Null when there is none, or one that is partly illegible. */
function readIssue(digits: string | undefined): number | null {
  return digits === undefined || digits.includes(ILLEGIBLE) ? null : Number(digits);
}

/** The last segment of a link's path; any other text unchanged. */
function withoutLink(text: string): string {
  if (text.length > LONGEST_TEXT) return '';
  const link = /^https?:\/\/[^?#]*\/([^/?#]+)\/?(?:[?#].*)?$/i.exec(text.trim());
  return link?.[1] ?? text;
}
