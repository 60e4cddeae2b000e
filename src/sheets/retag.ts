/**
 * Giving up a tag that is lost, faded or damaged. Its plant is queued for the next issue until that is
 * printed: a plant that had a tag and has no current one.
 */
import { InputError } from '../errors.js';
import type { Ledger, Recorded } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';

export const VOID_REASONS = ['lost', 'faded', 'damaged'] as const;
export type VoidReason = (typeof VOID_REASONS)[number];

export interface Retagged {
  readonly voided: number;
  /** The issue that will be printed next. */
  readonly next: number;
  readonly change: Recorded;
}

/** @throws InputError if the plant has no current tag */
export async function voidTag(ledger: Ledger, plant: Plant, why: VoidReason, by: string): Promise<Retagged> {
  return ledger.write(by, async (writer) => {
    const last = (await writer.tags(plant.id)).at(-1);
    if (last === undefined) {
      throw new InputError(
        'no-tag-yet',
        `Plant ${plant.id} never had a tag.`,
        'Print its first: pottag tags --untagged.',
      );
    }
    if (last.status === 'void') {
      throw new InputError(
        'already-void',
        `The last tag of ${plant.id}, issue ${last.issue}, is void already.`,
        'Its next one is queued: pottag tags --queued prints it.',
      );
    }
    const { issue } = last;
    const change = await writer.append({ kind: 'tag-voided', body: { id: plant.id, issue, why } });
    return { voided: issue, next: issue + 1, change };
  });
}
