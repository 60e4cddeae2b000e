/**
 * Reads the tags in a photo, by the decoders and by the ledger's tags, before anyone says which plants they
 * mean. It asks nothing of a ledger but its tags, so that it can run beside what answers everyone else.
 */
import type { IdLength } from '../ids/plant-id.js';
import { readPicture } from './photo.js';
import { grayOf, loadColours } from './picture.js';
import { placeOf } from './reading/beside.js';
import { KeptCodes, knownCells, type TagsSince } from './reading/ledger-codes.js';
import type { Suspect } from './reading/posterior.js';
import { type LedgerReading, OFFERED_AT, readBeside, readByLedger } from './reading/read.js';

export interface TagsRead {
  /** What the decoders read, whatever it is; each text once. */
  readonly texts: readonly string[];
  /** Damaged tags, read by what is left of them, surest first. */
  readonly damaged: readonly DamagedTag[];
}

export interface DamagedTag {
  /** Tags of the ledger, likeliest first. */
  readonly suspects: readonly Suspect[];
}

export interface PhotoReader {
  /** @throws InputError if the bytes are not a sound picture */
  read(photo: Uint8Array): Promise<TagsRead>;
}

export class TagReader implements PhotoReader {
  readonly #codes: KeptCodes;
  readonly #known: Int8Array;

  constructor(tagsSince: TagsSince, idLength: IdLength) {
    this.#codes = new KeptCodes(tagsSince, idLength);
    this.#known = knownCells(idLength);
  }

  async read(photo: Uint8Array): Promise<TagsRead> {
    const picture = await loadColours(photo);
    const { codes } = await readPicture(grayOf(picture));
    const texts = [...new Set(codes.map(({ text }) => text))];
    if (texts.length === 0) {
      const tags = await this.#codes.current();
      return { texts, damaged: tags === null ? [] : readByLedger(picture, tags).map(damagedTag) };
    }
    const beside = await readBeside(picture, codes.map(placeOf), this.#known, () => this.#codes.current());
    return { texts, damaged: beside.filter((reading) => isAnother(reading, texts)).map(damagedTag) };
  }
}

const damagedTag = ({ suspects }: LedgerReading): DamagedTag => ({ suspects });

/** Surely enough a tag, and not the other code of one that was read. */
function isAnother({ suspects: [first] }: LedgerReading, texts: readonly string[]): boolean {
  return first !== undefined && first.probability >= OFFERED_AT && !texts.includes(first.text);
}
