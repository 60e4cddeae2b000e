/** A field copy read at home: what was recorded in it, and on what ledger it was built. */
import { LedgerError } from '../errors.js';
import type { NewEntry } from '../ledger/entries.js';
import { isForTheField } from '../ledger/field-copy.js';
import { parseEntry } from '../ledger/journal.js';
import type { FieldCopy } from '../ledger/ledger.js';
import { openLedger } from '../ledger/sqlite-ledger.js';
import { readJournal } from '../ledger/transfer.js';

/** An entry that was recorded in a field copy. */
export type FieldEntry = NewEntry & { readonly id: string; readonly at: string; readonly by: string };

/** A field copy as far as it is needed at home. */
export interface CopyRead extends FieldCopy {
  /** The UUID that the ledger was given when it was made. */
  readonly ledger: string;
  /** The last entry that was copied. */
  readonly after: string;
  readonly entries: readonly FieldEntry[];
}

/**
 * @returns undefined if it is a ledger at home
 * @throws LedgerError if the ledger in `from` cannot be used, or holds what no field copy records
 */
export async function readCopy(from: string): Promise<CopyRead | undefined> {
  const opened = openLedger(from, () => new Date());
  const copy = await opened.fieldCopy().finally(() => opened.close());
  if (copy === undefined) return undefined;
  let [ledger, after] = ['', ''];
  const entries: FieldEntry[] = [];
  for (const stored of readJournal(from)) {
    if (stored.seq > 1 && stored.seq < copy.number - 1) continue;
    const entry = parseEntry(stored);
    if (entry?.kind === 'ledger-made') ledger = entry.body.ledger;
    if (stored.seq === copy.number - 1) after = stored.id;
    if (stored.seq <= copy.number) continue;
    const { id, at, by } = stored;
    if (entry === undefined || !isForTheField(entry)) {
      throw new LedgerError(
        'damaged',
        `Entry ${stored.seq} of the field copy in ${from} is "${stored.kind}", which no field copy records.`,
        'Nothing was merged. Look at who else wrote in that folder.',
      );
    }
    entries.push({ ...entry, id, at, by });
  }
  return { ...copy, ledger, after, entries };
}
