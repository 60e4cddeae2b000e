/**
 * The ledger as it told at an earlier time: the entries up to then, put through the same `derive` as when they were
 * written. Grows with the journal.
 */
import type { IdLength } from '../ids/plant-id.js';
import { deriveAll } from './migrate.js';
import { type Scratch, scratchBeside } from './scratch.js';
import { SqliteReader } from './sqlite-ledger.js';

export class EarlierView extends SqliteReader {
  constructor(
    private readonly scratch: Scratch,
    readonly idLength: IdLength,
  ) {
    super(scratch.database);
  }

  close(): void {
    this.scratch.discard();
  }
}

/** @param before the first instant that no longer counts */
export function viewAsOf(folder: string, idLength: IdLength, before: Date): EarlierView {
  const scratch = scratchBeside(folder);
  try {
    const last = scratch.database.get<{ seq: number }>(LAST, before.toISOString())?.seq ?? 0;
    deriveAll(scratch.database, last);
    return new EarlierView(scratch, idLength);
  } catch (error) {
    scratch.discard();
    throw error;
  }
}

/**
 * The last entry of then; all before it count too, even if the clock was set back meanwhile. What was recorded in a
 * field copy was known here when it was merged.
 */
const LAST = `
  SELECT seq FROM journal WHERE at < ? AND NOT EXISTS (
    SELECT 1 FROM journal AS merging WHERE merging.kind = 'merged'
      AND journal.seq BETWEEN merging.seq - (merging.body ->> 'entries') AND merging.seq - 1)
  ORDER BY seq DESC LIMIT 1`;
