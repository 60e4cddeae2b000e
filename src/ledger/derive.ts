/**
 * What each kind of entry changes in the derived tables, as SQL over the journal itself. Used after
 * entries are appended and, in the same way, when the tables are made anew to be compared: there is no
 * second account of what an entry means.
 */
import type { Database } from './database.js';
import type { EntryKind } from './entries.js';
import { stretches } from './stretches.js';

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

const plantNamed = (id: string) => `(SELECT number FROM plant WHERE id = ${id})`;
const PLANT_OF_ENTRY = plantNamed("body ->> 'id'");

/** The entries of one kind in the stretch, each with the `named` entry that it is about. */
const namedBy = (kind: EntryKind) =>
  `journal CROSS JOIN journal AS named ON named.id = unhex(replace(journal.body ->> 'entry', '-', ''))
   WHERE journal.seq BETWEEN ?1 AND ?2 AND journal.kind = '${kind}'`;

/** The tags whose giving up entries of the stretch name. */
const tagsNamedBy = (kind: EntryKind) =>
  `SELECT ${plantNamed("named.body ->> 'id'")}, named.body ->> 'issue'
   FROM ${namedBy(kind)} AND named.kind = 'tag-voided'`;

/** The latest word counts, by the day it was seen: a plant taken for dead may shoot again. */
const latestSeen = (trait: string, value: string, condition: string) =>
  `(SELECT ${value} FROM standing_observation AS seen JOIN journal USING (seq)
    WHERE seen.plant = plant.number AND body ->> '$.values.${trait}' IS NOT NULL AND ${condition}
    ORDER BY date DESC, place DESC, copy DESC, seq DESC LIMIT 1)`;

const ENDED = latestSeen('alive', "iif(body ->> '$.values.alive' = 'no', date, NULL)", 'TRUE');

/** Where it was last seen since somebody said where it stands, or else what was said. */
const STATION = `coalesce(
  ${latestSeen('station', "body ->> '$.values.station'", 'place > plant.placed')},
  (SELECT coalesce(body ->> '$.changes.station', body ->> 'station') FROM journal WHERE seq = plant.placed))`;

/** What follows for a plant from the observations made on it. */
const PLANTS_FROM_OBSERVATIONS = `UPDATE plant SET ended = ${ENDED}, station = ${STATION}`;

/**
 * Puts every observation under the plant that the standing corrections make of the one it was recorded
 * under, one after the other; then what follows for the plants. It is reckoned anew for all plants that
 * corrections tie to those of the query `plants`, so that it is the same in whatever order entries came.
 */
function corrected(plants: string): string[] {
  const touched = `touched (plant) AS (
      ${plants}
      UNION
      SELECT iif(a = touched.plant, b, a) FROM touched JOIN correction ON touched.plant IN (a, b)
    )`;
  return [
    `WITH RECURSIVE ${touched},
    step (n, seq, a, b, since, until, observation) AS MATERIALIZED (
      SELECT row_number() OVER (ORDER BY seq), seq, a, b, since, until, observation
      FROM standing_correction WHERE a IN touched
    ),
    told (seq, place, date, by_tag, n, plant) AS (
      SELECT observation.seq, coalesce(place, observation.seq), date, body ->> 'withoutTag' IS NULL, 0, ${PLANT_OF_ENTRY}
      FROM observation JOIN journal USING (seq) LEFT JOIN merged USING (seq) WHERE observation.plant IN touched
      UNION ALL
      -- What a person put under a plant is told by no tag any more.
      SELECT told.seq, place, date, by_tag AND step.observation IS NOT told.seq, step.n, CASE
          WHEN step.seq <= place THEN plant
          WHEN step.observation IS NOT NULL THEN iif(step.observation = told.seq, b, plant)
          WHEN by_tag AND date BETWEEN since AND until AND plant IN (a, b) THEN iif(plant = a, b, a)
          ELSE plant
        END
      FROM told JOIN step ON step.n = told.n + 1
    )
    UPDATE observation SET plant = last.plant FROM (SELECT seq, plant, max(n) FROM told GROUP BY seq) AS last
    WHERE observation.seq = last.seq AND observation.plant <> last.plant`,
    `WITH RECURSIVE ${touched} ${PLANTS_FROM_OBSERVATIONS} WHERE number IN touched`,
  ];
}

/** The plants that the observations and corrections named by entries of the stretch are about. */
const plantsNamedBy = (kind: EntryKind) => `
  SELECT plant FROM observation WHERE seq IN (SELECT named.seq FROM ${namedBy(kind)})
  UNION SELECT a FROM correction WHERE seq IN (SELECT named.seq FROM ${namedBy(kind)})`;

const CORRECTIONS_OF_STRETCH = 'SELECT a FROM correction WHERE seq BETWEEN ?1 AND ?2';

/** The plants that were seen alive or dead, or at a station. */
const SEEN_DEAD_OR_STANDING = `SELECT body ->> 'id' FROM ${OF_KIND('observed')}
  AND coalesce(body ->> '$.values.alive', body ->> '$.values.station') IS NOT NULL`;

/** A statement that does nothing, and need not be run, for bodies whose text does not match. */
interface Conditional {
  readonly ifAny: RegExp;
  readonly run: string;
}

/**
 * The statements for a stretch of entries that are all of one kind. A plant may occur in it several times
 * but for `plant-amended`, whose stretches are single entries.
 */
const STATEMENTS: Readonly<Record<EntryKind, readonly (string | Conditional)[]>> = {
  'ledger-made': [],
  'plant-enrolled': [
    `INSERT INTO plant (number, id, key, kind, seed_parent, pollen_parent, sown, origin, station, type, note, extra, placed)
     SELECT body ->> 'number', body ->> 'id', body ->> 'key', body ->> 'kind', body ->> 'seedParent',
       body ->> 'pollenParent', body ->> 'sown', body ->> 'origin', body ->> 'station', body ->> 'type',
       body ->> 'note', body ->> 'extra', seq
     FROM ${OF_KIND('plant-enrolled')} ORDER BY seq`,
  ],
  'plant-amended': [
    `UPDATE plant SET ${AMENDMENTS.join(', ')},
       placed = iif(json_type(amendment.body, '$.changes.station') IS NULL, placed, amendment.seq)
     FROM (SELECT seq, body FROM ${OF_KIND('plant-amended')}) AS amendment
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
    {
      ifAny: /alive|station|\\u/, // An escape can stand for any letter.
      run: `${PLANTS_FROM_OBSERVATIONS} WHERE id IN (${SEEN_DEAD_OR_STANDING})`,
    },
  ],
  exchanged: [
    `INSERT INTO correction (seq, a, b, since, until)
     SELECT seq, ${plantNamed("body ->> 'a'")}, ${plantNamed("body ->> 'b'")}, body ->> 'since', body ->> 'until'
     FROM ${OF_KIND('exchanged')} ORDER BY seq`,
    ...corrected(CORRECTIONS_OF_STRETCH),
  ],
  reassigned: [
    `INSERT INTO correction (seq, a, b, observation)
     SELECT journal.seq, ${plantNamed("named.body ->> 'id'")}, ${plantNamed("journal.body ->> 'id'")}, named.seq
     FROM ${namedBy('reassigned')} ORDER BY journal.seq`,
    ...corrected(CORRECTIONS_OF_STRETCH),
  ],
  doubted: [
    `INSERT INTO doubt (seq, after, until)
     SELECT seq, body ->> 'after', body ->> 'until' FROM ${OF_KIND('doubted')} ORDER BY seq`,
    `INSERT INTO doubt_plant (plant, doubt)
     SELECT plant.number, seq
     FROM (SELECT seq, body FROM ${OF_KIND('doubted')}) AS entry, json_each(entry.body, '$.plants') AS named
       JOIN plant ON plant.id = named.value`,
  ],
  withdrawn: [
    `INSERT OR REPLACE INTO withdrawal (entry, by)
     SELECT named.seq, journal.seq FROM ${namedBy('withdrawn')} ORDER BY journal.seq`,
    `UPDATE tag SET voided = NULL,
       status = iif(issue = (SELECT max(issue) FROM tag AS latest WHERE latest.plant = tag.plant), 'current', 'superseded')
     WHERE (plant, issue) IN (${tagsNamedBy('withdrawn')})
       AND voided IN (SELECT named.seq FROM ${namedBy('withdrawn')})`,
    ...corrected(plantsNamedBy('withdrawn')),
  ],
  restored: [
    `DELETE FROM withdrawal WHERE entry IN (SELECT named.seq FROM ${namedBy('restored')})`,
    `UPDATE tag SET status = 'void', voided = (
       SELECT max(named.seq) FROM ${namedBy('restored')} AND named.kind = 'tag-voided'
         AND named.body ->> 'issue' = tag.issue AND ${plantNamed("named.body ->> 'id'")} = tag.plant)
     WHERE (plant, issue) IN (${tagsNamedBy('restored')}) AND voided IS NULL`,
    ...corrected(plantsNamedBy('restored')),
  ],
  changed: [
    `INSERT INTO change (seq, first)
     SELECT seq, seq - (body ->> 'entries') FROM ${OF_KIND('changed')} ORDER BY seq`,
  ],
  copied: [`INSERT INTO copied (seq) SELECT seq FROM ${OF_KIND('copied')}`],
  merged: [
    `INSERT INTO merged (seq, place, copy)
     SELECT own.seq, (SELECT seq FROM journal WHERE id = unhex(replace(merging.body ->> 'after', '-', ''))),
       merging.body ->> 'copy'
     FROM (SELECT seq, body FROM ${OF_KIND('merged')}) AS merging
       JOIN journal AS own ON own.seq BETWEEN merging.seq - (merging.body ->> 'entries') AND merging.seq - 1
     WHERE own.kind = 'observed' ORDER BY own.seq`,
    ...corrected(`SELECT plant FROM observation WHERE seq IN (
      SELECT merged.seq FROM merged, (SELECT seq, body FROM ${OF_KIND('merged')}) AS merging
      WHERE merged.seq BETWEEN merging.seq - (merging.body ->> 'entries') AND merging.seq - 1)`),
  ],
};

/** An entry by its place in the journal and its kind, with its body's text where that is at hand. */
export interface PlacedKind {
  readonly seq: number;
  readonly kind: string;
  readonly body?: string;
}

/** Brings the tables up to date with entries of the journal, given in order without a gap. */
export function derive(database: Database, entries: readonly PlacedKind[]): void {
  const areAlike = (a: PlacedKind, b: PlacedKind) => a.kind === b.kind && a.kind !== 'plant-amended';
  for (const stretch of stretches(entries, areAlike)) {
    const [{ seq: first, kind }] = stretch;
    const last = first + stretch.length - 1;
    for (const statement of STATEMENTS[kind as EntryKind] ?? []) {
      if (typeof statement === 'string') database.run(statement, first, last);
      else if (stretch.some(({ body }) => body === undefined || statement.ifAny.test(body)))
        database.run(statement.run, first, last);
    }
  }
}
