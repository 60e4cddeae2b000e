/**
 * Why a text names no plant, and what to do about it, in words.
 */
import { readSign } from '../codes/station-sign.js';
import { InputError } from '../errors.js';
import { EXAMPLE_IDS, type IdLength } from '../ids/plant-id.js';
import { quote } from '../wording.js';
import type { Resolution } from './resolve.js';

/** What of a scan there is something to say about. */
interface ToSay extends Pick<Resolution, 'status' | 'voidedBecause'> {
  readonly text: string | null;
  readonly candidates: readonly unknown[];
}

/** Why tags are given up. */
const GIVEN_UP: Readonly<Record<string, string>> = {
  lost: 'it was lost',
  faded: 'it had faded',
  damaged: 'it was damaged',
  exchanged: 'it hung on the pot of another plant',
};

/** What a person should do about a scan; null when all is well. */
export function whatToDo(
  { status, text, voidedBecause, candidates }: ToSay,
  idLength: IdLength,
): string | null {
  switch (status) {
    case 'current':
      return null;
    case 'superseded':
      return 'An older tag of this plant: a newer one was printed. Look whether this is the right pot, take the old tag off, and use the new one (or type the ID alone).';
    case 'void':
      return `This tag was given up: ${GIVEN_UP[voidedBecause ?? ''] ?? voidedBecause}. Find out which plant this is, take the tag off and hang the new one.`;
    case 'unissued':
      return 'No such tag was ever printed from this ledger. If the plant in front of you is this one, type the ID alone.';
    case 'unknown':
      return 'No plant in this ledger has this ID. Is it a tag of another ledger? Look at the tag again.';
    case 'unreadable':
      return candidates.length === 0
        ? 'Not a sound ID: a character is illegible or wrong. Type ? for each one that cannot be read.'
        : 'Nothing is taken without you: if that is the plant in front of you, give its whole ID.';
    case 'not-a-tag':
      return notATag(idLength, text ?? '');
  }
}

/** Longer texts are no slip in a tag text. */
const LONGEST_QUOTED = 20;

function notATag(idLength: IdLength, text: string): string {
  const station = readSign(text);
  if (station !== undefined) {
    return `The sign of the station ${quote(station)}, no plant's tag. A walk reads it: pottag walk --help.`;
  }
  const shape = `An ID has ${idLength} characters`;
  const bare = text.replace(/\..*$/, '').replaceAll(/[\s-]/g, '');
  const isNear = /^[0-9A-Za-z?]+$/.test(bare) && Math.abs(bare.length - idLength) <= 2;
  if (text.startsWith(`${bare}.`) && bare.length === idLength && text.length < LONGEST_QUOTED)
    return 'After the dot stands the issue, a number from 1 to 9999.';
  if (isNear && bare.length !== idLength)
    return `${shape}, this has ${bare.length}. Type ? for one that is missing.`;
  if (isNear) return `${shape} of 0-9 and A-Z without U.`;
  return `Not a tag of Pottag. ${shape}, e.g. ${EXAMPLE_IDS[idLength]}.`;
}

/** For commands that need one plant. */
export function unresolvedPlant(resolution: Resolution, idLength: IdLength): InputError {
  const { text, status, candidates } = resolution;
  const offered = candidates.map(({ plant }) => plant.id).join(' or ');
  const hint = offered === '' ? whatToDo(resolution, idLength) : `Did you mean ${offered}?`;
  return new InputError(`id-${status}`, `"${text}" names no plant of this ledger.`, hint ?? '');
}
