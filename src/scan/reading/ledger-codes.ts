/** The symbols of all tags that a ledger ever issued, and of tags of no ledger to hold them against. */
import { isTagText } from '../../codes/tag-qr.js';
import { capacity, idOfNumber } from '../../ids/allocation.js';
import type { IdLength } from '../../ids/plant-id.js';
import type { LedgerReader } from '../../ledger/ledger.js';
import { packTagCodes, type TagCodes } from './tag-codes.js';

/** Enough that the best of them looks as like a picture by chance as the best of a ledger of thousands. */
const STRANGERS = 8192;
/** Most tags are a plant's first; every so many-th stranger bears a later issue. */
const LATER_ISSUE_EVERY = 5;

/** Null for a ledger that never issued a tag. */
export async function codesOfLedger(
  ledger: Pick<LedgerReader, 'tagTexts'>,
  idLength: IdLength,
): Promise<TagCodes | null> {
  const texts: string[] = [];
  for await (const some of ledger.tagTexts()) texts.push(...some.filter(isTagText));
  return texts.length === 0 ? null : packTagCodes(texts, strangersTo(new Set(texts), idLength));
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
