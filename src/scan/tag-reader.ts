/**
 * Reads the tags in a photo, by the decoders and by the ledger's tags, before anyone says which plants they
 * mean. It asks nothing of a ledger but its tags, so that it can run beside what answers everyone else.
 */
import type { IdLength } from '../ids/plant-id.js';
import { readPicture } from './photo.js';
import { type ColourPicture, grayOf, jpegOf, loadColours } from './picture.js';
import { findBeside } from './reading/beside.js';
import type { Explanation } from './reading/explain-canvas.js';
import type { KeptCodes } from './reading/ledger-codes.js';
import type { Suspect } from './reading/posterior.js';
import type { LedgerReading } from './reading/read.js';
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
  /** Why, as a JPEG file. Null where it was not asked for. */
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
    if (texts.length === 0) {
      const tags = await this.#tags();
      if (tags === null) return { texts, damaged: [] };
      const { explainedDamaged, readDamaged, tagsSeen } = await import('./reading/damaged.js');
      const damaged = readDamaged(picture, tags);
      const explain = () => explainedDamaged(picture, damaged);
      return { texts, damaged: await this.#shown(tagsSeen(damaged), explain) };
    }
    const found = findBeside(picture, codes);
    const tags = found.finds.length === 0 ? null : await this.#tags();
    if (tags === null) return { texts, damaged: [] };
    const { readFinds, OFFERED_AT } = await import('./reading/read.js');
    // Surely enough a tag, and not the other code of one that was read.
    const isAnother = ({ suspects: [first] }: LedgerReading): boolean =>
      first !== undefined && first.probability >= OFFERED_AT && !texts.includes(first.text);
    return { texts, damaged: await this.#symbols(readFinds(found, tags).filter(isAnother), () => picture) };
  }

  /**
   * Reads pictures that a camera took one after the other of what no decoder reads: what is seen in all of
   * them together.
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
    const { isOffered } = await import('./reading/read.js');
    // Nobody asked: less than what is worth a question is left unsaid.
    const readings = readOverTime(pictures, tags).filter(isOffered);
    return { texts, damaged: await this.#symbols(readings, (reading) => reading.picture) };
  }

  async #symbols<Reading extends LedgerReading>(
    readings: readonly Reading[],
    pictureOf: (reading: Reading) => ColourPicture,
  ): Promise<DamagedTag[]> {
    const [first] = readings;
    const tags = readings.map(({ suspects }) => ({ part: 'symbol', suspects }) as const);
    return this.#shown(tags, async () => {
      if (first === undefined) return null;
      const { explained } = await import('./reading/explain.js');
      return explained(pictureOf(first), first);
    });
  }

  /** The surest is shown: more pictures nobody looks at. */
  async #shown(
    tags: readonly Pick<DamagedTag, 'part' | 'suspects'>[],
    explain: () => Promise<Explanation | null>,
  ): Promise<DamagedTag[]> {
    const explanation = this.isShowing ? await explain() : null;
    const shown = explanation && {
      picture: await jpegOf(explanation.picture, SHOWN_WIDTH_PX),
      caption: explanation.caption,
    };
    return tags.map((tag, index) => ({ ...tag, shown: index === 0 ? shown : null }));
  }

  /** What draws tags is loaded only when it is needed. */
  async #tags(): Promise<TagCodes | null> {
    const { KeptCodes } = await import('./reading/ledger-codes.js');
    this.#codes ??= new KeptCodes(this.tagsSince, this.idLength);
    return this.#codes.current();
  }
}

/** On a phone's screen, and over its network. */
const SHOWN_WIDTH_PX = 640;
