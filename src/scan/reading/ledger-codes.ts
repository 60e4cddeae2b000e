/** The symbols of all tags that a ledger ever issued, and of tags of no ledger to hold them against. */
import { isTagText } from '../../codes/tag-qr.js';
import { capacity, idOfNumber } from '../../ids/allocation.js';
import type { IdLength } from '../../ids/plant-id.js';
import { packTagCodes, type TagCodes, withMoreTags } from './tag-codes.js';
import type { TagsSince } from './tags-since.js';

/** Enough that the best of them looks as like a picture by chance as the best of a ledger of thousands. */
const STRANGERS = 8192;
/** Most tags are a plant's first; every so many-th stranger bears a later issue. */
const LATER_ISSUE_EVERY = 5;

/** A ledger's tags, packed once; what is issued later is added when the tags are asked for again. */
export class KeptCodes {
  #codes: TagCodes | null = null;
  #entry = 0;

  constructor(
    private readonly tagsSince: TagsSince,
    private readonly idLength: IdLength,
  ) {}

  /** Null for a ledger that never issued a tag. Not to be called again before it has answered. */
  async current(): Promise<TagCodes | null> {
    const { texts, entry } = await this.tagsSince(this.#entry);
    const more = texts.flatMap((some) => some.split(' ')).filter(isTagText);
    if (more.length > 0) {
      this.#codes =
        this.#codes === null
          ? packTagCodes(more, strangersTo(new Set(more), this.idLength))
          : withMoreTags(this.#codes, more);
    }
    this.#entry = entry;
    return this.#codes;
  }
}

/** Tag texts that are none of these, spread evenly over all there are. */
export function strangersTo(texts: ReadonlySet<string>, idLength: IdLength): string[] {
  const strangers: string[] = [];
  for (let index = 0; index < STRANGERS; index++) {
    const number = 1 + Math.floor(((index + 0.5) / STRANGERS) * capacity(idLength));
    const issue = index % LATER_ISSUE_EVERY === 0 ? 2 + (index % 8) : 1;
    const text = `${idOfNumber(number, idLength)}.${issue}`;
    if (!texts.has(text)) strangers.push(text);
  }
  return strangers;
}
