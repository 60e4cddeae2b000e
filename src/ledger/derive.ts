/**
 * What each kind of entry changes in the derived tables, as SQL over the journal itself. Used after
 * entries are appended and, in the same way, when the tables are made anew to be compared: there is no
 * second account of what an entry means.
 */
import type { Database } from './database.js';
import type { EntryKind } from './entries.js';

/** The entries of one kind within a stretch of the journal; `?1` and `?2` are its first and last. */
const OF_KIND = (kind: EntryKind) => `journal WHERE seq BETWEEN ?1 AND ?2 AND kind = '${kind}'`;

const AMENDABLE = {
  key: 'key',
  kind: 'kind',
  seed_parent: 'seedParent',
  pollen_parent: 'pollenParent',
  sown: 'sown',
  origin: 'origin',
  station: 'station',
  type: 'type',
  note: 'note',
  extra: 'extra',
} as const;

/** A field that the amendment does not name stays; one that it sets to null is cleared. */
const AMENDMENTS = Object.entries(AMENDABLE).map(([column, field]) => {
  const path = `'$.changes.${field}'`;
  return `${column} = CASE WHEN json_type(amendment.body, ${path}) IS NULL
    THEN plant.${column} ELSE amendment.body ->> ${path} END`;
});

const PLANT_OF_ENTRY = "(SELECT number FROM plant WHERE id = body ->> 'id')";

/**
 * The statements for a stretch of entries that are all of one kind. A plant may occur in it several times
 * but for `plant-amended`, whose stretches are single entries.
 */
const STATEMENTS: Readonly<Record<EntryKind, readonly string[]>> = {
  'ledger-made': [],
  'plant-enrolled': [
    `INSERT INTO plant (number, id, key, kind, seed_parent, pollen_parent, sown, origin, station, type, note, extra)
     SELECT body ->> 'number', body ->> 'id', body ->> 'key', body ->> 'kind', body ->> 'seedParent',
       body ->> 'pollenParent', body ->> 'sown', body ->> 'origin', body ->> 'station', body ->> 'type',
       body ->> 'note', body ->> 'extra'
     FROM ${OF_KIND('plant-enrolled')} ORDER BY seq`,
  ],
  'plant-amended': [
    `UPDATE plant SET ${AMENDMENTS.join(', ')}
     FROM (SELECT body FROM ${OF_KIND('plant-amended')}) AS amendment
     WHERE plant.id = amendment.body ->> 'id'`,
  ],
  'sheet-printed': [
    `INSERT INTO sheet (seq, file, stock)
     SELECT seq, body ->> 'file', body ->> 'stock' FROM ${OF_KIND('sheet-printed')} ORDER BY seq`,
  ],
  'printer-calibrated': [
    `INSERT OR REPLACE INTO printer (name, seq)
     SELECT body ->> 'printer', seq FROM ${OF_KIND('printer-calibrated')} ORDER BY seq`,
  ],
  'tag-issued': [
    `INSERT INTO tag (plant, issue, status, seq, stock, sheet, page, sheet_row, sheet_column)
     SELECT ${PLANT_OF_ENTRY}, body ->> 'issue', 'current', seq, body ->> 'stock', body ->> 'sheet',
       body ->> 'page', body ->> 'row', body ->> 'column'
     FROM ${OF_KIND('tag-issued')} ORDER BY seq`,
    `UPDATE tag SET status = 'superseded'
     WHERE status = 'current'
       AND plant IN (SELECT ${PLANT_OF_ENTRY} FROM ${OF_KIND('tag-issued')})
       AND issue < (SELECT max(issue) FROM tag AS latest WHERE latest.plant = tag.plant)`,
  ],
  'tag-reprinted': [
    `UPDATE tag SET reprinted = again.seq, stock = again.stock, sheet = again.sheet, page = again.page,
       sheet_row = again."row", sheet_column = again."column"
     FROM (SELECT ${PLANT_OF_ENTRY} AS plant, body ->> 'issue' AS issue, max(seq) AS seq, body ->> 'stock' AS stock,
         body ->> 'sheet' AS sheet, body ->> 'page' AS page, body ->> 'row' AS "row", body ->> 'column' AS "column"
       FROM ${OF_KIND('tag-reprinted')} GROUP BY body ->> 'id', body ->> 'issue') AS again
     WHERE tag.plant = again.plant AND tag.issue = again.issue`,
  ],
  'tag-voided': [
    `UPDATE tag SET status = 'void', voided = given_up.seq
     FROM (SELECT ${PLANT_OF_ENTRY} AS plant, body ->> 'issue' AS issue, seq FROM ${OF_KIND('tag-voided')}) AS given_up
     WHERE tag.plant = given_up.plant AND tag.issue = given_up.issue`,
  ],
  observed: [
    `INSERT INTO observation (seq, plant, date)
     SELECT seq, ${PLANT_OF_ENTRY}, body ->> 'date' FROM ${OF_KIND('observed')} ORDER BY seq`,
    // The latest word counts, by the day it was seen: a plant taken for dead may shoot again.
    `UPDATE plant SET ended = (
       SELECT iif(body ->> '$.values.alive' = 'no', date, NULL)
       FROM observation JOIN journal USING (seq)
       WHERE observation.plant = plant.number AND body ->> '$.values.alive' IS NOT NULL
       ORDER BY date DESC, seq DESC LIMIT 1)
     WHERE id IN (SELECT body ->> 'id' FROM ${OF_KIND('observed')} AND body ->> '$.values.alive' IS NOT NULL)`,
  ],
};

/** Brings the tables up to date with the entries `first` to `last` of the journal. */
export function derive(database: Database, first: number, last: number): void {
  for (const stretch of stretches(database, first, last)) {
    for (const statement of STATEMENTS[stretch.kind] ?? [])
      database.run(statement, stretch.first, stretch.last);
  }
}

interface Stretch {
  readonly kind: EntryKind;
  readonly first: number;
  readonly last: number;
}

/** Neighbouring entries of one kind together: what they do can be done at once. */
function stretches(database: Database, first: number, last: number): Stretch[] {
  const found: { kind: EntryKind; first: number; last: number }[] = [];
  const sql = 'SELECT seq, kind FROM journal WHERE seq BETWEEN ? AND ? ORDER BY seq';
  for (const { seq, kind } of database.all<{ seq: number; kind: EntryKind }>(sql, first, last)) {
    const before = found.at(-1);
    if (before?.kind === kind && kind !== 'plant-amended') before.last = seq;
    else found.push({ kind, first: seq, last: seq });
  }
  return found;
}
