/**
 * What was changed and can be undone: groups of entries and single ones, exchanges, doubts.
 */
import type { PlantId } from '../ids/plant-id.js';
import { type Database, fromJson } from './database.js';
import type { EntryKind, NewEntry } from './entries.js';
import type { Doubt, Exchange } from './model.js';
import { uuidOf } from './queries.js';

/** An entry of the journal. */
export type Entry = NewEntry & {
  readonly number: number;
  readonly id: string;
  /** Not taken back; of a withdrawal, that what it names is withdrawn; of a restoration, that it is not. */
  readonly stands: boolean;
};

/** What can be undone as one. */
export interface Change {
  /** The place of its last entry in the journal: what `undo` takes. */
  readonly number: number;
  readonly id: string;
  readonly at: string;
  readonly by: string;
  /** What it was, as written down with it; null for a single entry. */
  readonly words: string | null;
  readonly entries: readonly Entry[];
}

/** Kinds that can be undone; others, such as a printed sheet, are facts. */
const UNDOABLE: readonly EntryKind[] = [
  'tag-voided',
  'observed',
  'exchanged',
  'reassigned',
  'doubted',
  'withdrawn',
  'restored',
];
const KINDS = UNDOABLE.map((kind) => `'${kind}'`).join(', ');

const isWithdrawn = (seq: string) => `EXISTS (SELECT 1 FROM withdrawal WHERE entry = ${seq})`;

/** Whether the entry in the table `row` stands. */
function stands(row: string): string {
  const named = `(SELECT seq FROM journal WHERE id = unhex(replace(${row}.body ->> 'entry', '-', '')))`;
  return `CASE ${row}.kind WHEN 'withdrawn' THEN ${isWithdrawn(named)}
    WHEN 'restored' THEN NOT ${isWithdrawn(named)} ELSE NOT ${isWithdrawn(`${row}.seq`)} END`;
}

interface Row {
  readonly number: number;
  readonly id: string;
  readonly at: string;
  readonly by: string;
  readonly kind: EntryKind;
  readonly body: string;
}

const ROW = 'made.seq AS number, lower(hex(made.id)) AS id, made.at, made.by, made.kind, made.body';

/** @param which its number in the journal, or its UUID */
export function changeOf(database: Database, which: number | string): Change | undefined {
  const sql =
    typeof which === 'number'
      ? `SELECT ${ROW} FROM journal AS made WHERE seq = ?`
      : `SELECT ${ROW} FROM journal AS made WHERE id = unhex(replace(?, '-', ''))`;
  const row = database.get<Row>(sql, which);
  return row === undefined ? undefined : toChange(database, row);
}

export function latestChanges(database: Database, limit: number): Change[] {
  // A change's last entry is the next one in the table of changes, if that reaches back so far.
  const sql = `SELECT ${ROW} FROM journal AS made
    WHERE iif(kind = 'changed',
      EXISTS (SELECT 1 FROM change JOIN journal AS part ON part.seq >= first AND part.seq < change.seq
        WHERE change.seq = made.seq AND ${stands('part')}),
      kind IN (${KINDS}) AND ${stands('made')}
        AND made.seq < coalesce((SELECT first FROM change WHERE seq > made.seq ORDER BY seq LIMIT 1), 9e15))
    ORDER BY seq DESC LIMIT ?`;
  return database.all<Row>(sql, limit).map((row) => toChange(database, row));
}

function toChange(database: Database, { number, id, at, by, kind, body }: Row): Change {
  const words = kind === 'changed' ? (fromJson(body) as { words: string }).words : null;
  const sql = `SELECT ${ROW}, ${stands('made')} AS stands FROM journal AS made WHERE seq BETWEEN ? AND ? ORDER BY seq`;
  const range =
    kind === 'changed'
      ? database.get<{ first: number }>('SELECT first FROM change WHERE seq = ?', number)
      : undefined;
  const rows = database.all<Row & { stands: number }>(
    sql,
    range?.first ?? number,
    range === undefined ? number : number - 1,
  );
  const entries = rows.map(
    (row) =>
      ({
        kind: row.kind,
        body: fromJson(row.body),
        number: row.number,
        id: uuidOf(row.id),
        stands: row.stands === 1,
      }) as Entry,
  );
  return { number, id: uuidOf(id), at, by, words, entries };
}

export function doubtsAbout(database: Database, id: PlantId): Doubt[] {
  const sql = `SELECT seq AS number, lower(hex(journal.id)) AS entry, body
    FROM doubt_plant JOIN open_doubt ON open_doubt.seq = doubt JOIN journal USING (seq)
    WHERE plant = (SELECT number FROM plant WHERE id = ?) ORDER BY seq`;
  return database.all<{ number: number; entry: string; body: string }>(sql, id).map((row) => ({
    number: row.number,
    entry: uuidOf(row.entry),
    ...(fromJson(row.body) as Pick<Doubt, 'plants' | 'after' | 'until'>),
  }));
}

export function exchangesOf(database: Database, id: PlantId): Exchange[] {
  const sql = `SELECT coalesce(
      (SELECT change.seq FROM change WHERE change.seq > journal.seq AND first <= journal.seq ORDER BY 1 LIMIT 1),
      journal.seq) AS number, body
    FROM standing_correction JOIN journal USING (seq)
    WHERE observation IS NULL AND (SELECT number FROM plant WHERE id = ?) IN (a, b) ORDER BY seq`;
  return database.all<{ number: number; body: string }>(sql, id).map(({ number, body }) => ({
    number,
    ...(fromJson(body) as Omit<Exchange, 'number'>),
  }));
}
