/**
 * Reads the tags in a photo, by the decoders and by the ledger's tags, before anyone says which plants they
 * mean. It asks nothing of a ledger but its tags, so that it can run beside what answers everyone else.
 */
import type { IdLength } from '../ids/plant-id.js';
import { type PhotoCode, readPicture } from './photo.js';
import { type ColourPicture, grayOf, loadColours } from './picture.js';
import { findBeside } from './reading/beside.js';
import type { TagSeen } from './reading/damaged.js';
import type { Explanation } from './reading/explain-canvas.js';
import type { KeptCodes } from './reading/ledger-codes.js';
import type { Suspect } from './reading/posterior.js';
import type { TagCodes } from './reading/tag-codes.js';
import type { TagsSince } from './reading/tags-since.js';

export interface TagsRead {
  /** What the decoders read, whatever it is; each text once. */
  readonly texts: readonly string[];
  /** Damaged tags, read by what is left of them, surest first. */
  readonly damaged: readonly DamagedTag[];
}

/** What of a tag was read: its QR code, with the ID beside it; its Code 128; or its printed ID alone. */
export type TagPart = 'symbol' | 'bars' | 'id';

export interface DamagedTag {
  readonly part: TagPart;
  /** Tags of the ledger, likeliest first. */
  readonly suspects: readonly Suspect[];
  /** Why, as a PNG file. Null where it was not asked for, and of all but the first where none is likely. */
  readonly shown: Explanation | null;
}

export interface PhotoReader {
  /** @throws InputError if the bytes are not a sound picture */
  read(photo: Uint8Array): Promise<TagsRead>;
}

export class TagReader implements PhotoReader {
  #codes: KeptCodes | undefined;

  constructor(
    private readonly tagsSince: TagsSince,
    private readonly idLength: IdLength,
    /** Draws why a damaged tag was read as it was. */
    private readonly isShowing = false,
  ) {}

  async read(photo: Uint8Array): Promise<TagsRead> {
    const picture = await loadColours(photo);
    const { codes } = await readPicture(grayOf(picture));
    const texts = [...new Set(codes.map(({ text }) => text))];
    const damaged = texts.length === 0 ? this.#damaged(picture) : this.#beside(picture, codes, texts);
    return { texts, damaged: await this.#shown(await damaged) };
  }

  /**
   * Reads pictures that a camera took one after the other of what no decoder reads: what is seen of a QR code in
   * all of them together.
   */
  async readFrames(frames: readonly Uint8Array[]): Promise<TagsRead> {
    const pictures = await Promise.all(frames.map(loadColours));
    const [first] = pictures;
    const tags = await this.#tags();
    if (first === undefined) return { texts: [], damaged: [] };
    const { codes } = await readPicture(grayOf(first));
    const texts = [...new Set(codes.map(({ text }) => text))];
    if (texts.length > 0 || tags === null) return { texts, damaged: [] };
    const { readOverTime } = await import('./reading/over-time.js');
    const { symbolsSeen } = await import('./reading/damaged.js');
    const { isOffered } = await import('./reading/read.js');
    // Nobody asked: less than what is worth a question is left unsaid.
    const readings = readOverTime(pictures, tags).filter(isOffered);
    return { texts, damaged: await this.#shown(symbolsSeen(readings, (reading) => reading.picture)) };
  }

  /** Tags in a picture in which the decoders read nothing. */
  async #damaged(picture: ColourPicture): Promise<readonly TagSeen[]> {
    const tags = await this.#tags();
    if (tags === null) return [];
    const { readDamaged } = await import('./reading/damaged.js');
    return readDamaged(picture, tags);
  }

  /** Tags beside the codes that were read: surely enough tags, and not the other code of one that was read. */
  async #beside(
    picture: ColourPicture,
    codes: readonly PhotoCode[],
    texts: readonly string[],
  ): Promise<readonly TagSeen[]> {
    const found = findBeside(picture, codes);
    const tags = found.finds.length === 0 ? null : await this.#tags();
    if (tags === null) return [];
    const { symbolsSeen } = await import('./reading/damaged.js');
    const { isOffered, readFinds } = await import('./reading/read.js');
    const others = readFinds(found, tags).filter(
      (reading) => isOffered(reading) && !texts.includes(reading.suspects[0]?.text ?? ''),
    );
    return symbolsSeen(others, () => picture);
  }

  async #shown(seen: readonly TagSeen[]): Promise<DamagedTag[]> {
    if (seen.length === 0) return [];
    const { isOffered } = await import('./reading/read.js');
    const tags: DamagedTag[] = [];
    for (const { explain, ...tag } of seen) {
      const isDrawn = this.isShowing && (tags.length === 0 || isOffered(tag));
      tags.push({ ...tag, shown: isDrawn ? await explain() : null });
    }
    return tags;
  }

  /** What draws tags is loaded only when it is needed. */
  async #tags(): Promise<TagCodes | null> {
    const { KeptCodes } = await import('./reading/ledger-codes.js');
    this.#codes ??= new KeptCodes(this.tagsSince, this.idLength);
    return this.#codes.current();
  }
}
