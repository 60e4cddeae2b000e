/**
 * What a ledger may write that is a field copy of another: what is seen, and that something recorded in it was
 * a slip. All else gives out IDs and tags, or says which plant is which, and two copies would contradict each other.
 */
import { InputError } from '../errors.js';
import type { Database } from './database.js';
import type { EntryBody, NewEntry } from './entries.js';
import type { FieldCopy, LedgerReader } from './ledger.js';
import { uuidOf } from './queries.js';

export function fieldCopyOf(database: Database): FieldCopy | undefined {
  const sql = `SELECT lower(hex(journal.id)) AS entry, journal.seq AS number, body, at AS madeAt
    FROM copied JOIN journal USING (seq)`;
  const row = database.get<Pick<FieldCopy, 'entry' | 'number' | 'madeAt'> & { body: string }>(sql);
  if (row === undefined) return undefined;
  const { body, entry, number, madeAt } = row;
  const { device, of } = JSON.parse(body) as EntryBody<'copied'>;
  return { entry: uuidOf(entry), number, device, of, madeAt };
}

/** What follows in a field copy's journal on the entry that made it one; whether `withdrawn` is of its own is asked apart. */
export function isForTheField(entry: NewEntry): boolean {
  switch (entry.kind) {
    case 'observed':
    case 'withdrawn':
    case 'restored':
      return true;
    case 'changed':
      return entry.body.what === 'undo';
    default:
      return false;
  }
}

const ONLY_WHAT_IS_SEEN = 'what is seen can be recorded in it, and taken back, but nothing else';

/** For what makes files before it appends. @throws InputError if the ledger is a field copy */
export async function refuseFieldCopy(ledger: LedgerReader): Promise<void> {
  const copy = await ledger.fieldCopy();
  if (copy !== undefined) throw refused(copy, ONLY_WHAT_IS_SEEN);
}

/** @throws InputError unless it is an observation, or takes one back that was recorded in this copy */
export function refuseInField(database: Database, copy: FieldCopy, entry: NewEntry): void {
  if (!isForTheField(entry)) throw refused(copy, ONLY_WHAT_IS_SEEN);
  if (!('entry' in entry.body)) return;
  const sql = "SELECT seq FROM journal WHERE id = unhex(replace(?, '-', ''))";
  const named = database.get<{ seq: number }>(sql, entry.body.entry)?.seq ?? 0;
  if (named <= copy.number) {
    throw refused(copy, 'only what was recorded in it can be taken back in it');
  }
}

function refused({ device, of, madeAt }: FieldCopy, why: string): InputError {
  return new InputError(
    'field-copy',
    `This ledger is the field copy "${device}", made on ${madeAt.slice(0, 10)} of the ledger in ${of}: ${why}.`,
    'Do this in the ledger at home; "pottag merge" brings there what was recorded here. Nothing was written.',
  );
}
