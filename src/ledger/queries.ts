/**
 * What is asked of the derived tables. Every query but `plantsSelected`, `stationsOf`, `histories` and
 * `plantsLike` finds its rows by an index; those four grow with the number of plants.
 */
import type { PlantId } from '../ids/plant-id.js';
import { type Database, fromJson, type Value } from './database.js';
import type { PlantSelection } from './ledger.js';
import type {
  Calibration,
  History,
  KnownObservation,
  LatestValue,
  Observation,
  Plant,
  PlantKind,
  PrintedSheet,
  SheetTag,
  Tag,
  TagStatus,
  WithdrawnObservation,
} from './model.js';

interface PlantRow {
  readonly number: number;
  readonly id: string;
  readonly key: string;
  readonly kind: string;
  readonly seed_parent: string | null;
  readonly pollen_parent: string | null;
  readonly sown: string | null;
  readonly origin: string | null;
  readonly station: string | null;
  readonly type: string | null;
  readonly note: string | null;
  readonly extra: string;
  readonly ended: string | null;
}

const PLANT_COLUMNS =
  'number, id, key, kind, seed_parent, pollen_parent, sown, origin, station, type, note, extra, ended';

/** So many values are handed over as one JSON text: bounds memory, and saves a call for each. */
const BATCH = 5000;

function toPlant(row: PlantRow): Plant {
  return {
    number: row.number,
    id: row.id as PlantId,
    key: row.key,
    kind: row.kind as PlantKind,
    seedParent: row.seed_parent,
    pollenParent: row.pollen_parent,
    sown: row.sown,
    origin: row.origin as PlantId | null,
    station: row.station,
    type: row.type,
    note: row.note,
    extra: fromJson(row.extra) as Record<string, string>,
    ended: row.ended,
  };
}

function* batches<T>(values: readonly T[]): Generator<readonly T[]> {
  for (let start = 0; start < values.length; start += BATCH) yield values.slice(start, start + BATCH);
}

export function plantsBy(
  database: Database,
  column: 'id' | 'key' | 'origin',
  values: readonly string[],
): Plant[] {
  const sql = `SELECT ${PLANT_COLUMNS} FROM plant WHERE ${column} IN (SELECT value FROM json_each(?))`;
  const plants: Plant[] = [];
  for (const batch of batches(values)) {
    for (const row of database.all<PlantRow>(sql, JSON.stringify(batch))) plants.push(toPlant(row));
  }
  return plants;
}

export function plantsLike(database: Database, pattern: string, limit: number): Plant[] {
  // GLOB, unlike LIKE, uses the index on the legible beginning. Patterns hold no other wildcard.
  const sql = `SELECT ${PLANT_COLUMNS} FROM plant WHERE id GLOB ? ORDER BY number LIMIT ?`;
  return database.all<PlantRow>(sql, pattern, limit).map(toPlant);
}

export function plantsSelected(database: Database, selection: PlantSelection): Plant[] {
  const { where, values } = conditionOf(selection);
  const sql = `SELECT ${PLANT_COLUMNS} FROM plant WHERE ${where} ORDER BY number`;
  return database.all<PlantRow>(sql, ...values).map(toPlant);
}

export function stationsOf(database: Database): string[] {
  const sql = 'SELECT DISTINCT station FROM plant WHERE station IS NOT NULL';
  return database.all<{ station: string }>(sql).map(({ station }) => station);
}

export function plantsCounted(database: Database, selection: PlantSelection): number {
  const { where, values } = conditionOf(selection);
  return (
    database.get<{ count: number }>(`SELECT count(*) AS count FROM plant WHERE ${where}`, ...values)?.count ??
    0
  );
}

function conditionOf(selection: PlantSelection): { where: string; values: Value[] } {
  const conditions = ['TRUE'];
  const values: Value[] = [];
  const equal = (column: string, value: string | null | undefined) => {
    if (value === undefined) return;
    conditions.push(`${column} IS ?`);
    values.push(value);
  };
  equal('seed_parent', selection.seedParent);
  equal('pollen_parent', selection.pollenParent);
  equal('kind', selection.kind);
  if (selection.stationPrefix !== undefined) {
    conditions.push('substr(station, 1, ?) = ?');
    values.push([...selection.stationPrefix].length, selection.stationPrefix);
  }
  if (selection.stationNumbers !== undefined) {
    const lists = selection.stationNumbers.map((numbers) =>
      ['station IS NOT NULL', ...numbers.map(() => "' ' || station || ' ' GLOB ?")].join(' AND '),
    );
    conditions.push(`(${lists.join(' OR ') || 'FALSE'})`);
    // Whole numbers; a nought may stand before them.
    values.push(...selection.stationNumbers.flat().map((number) => `*[^1-9]${number}[^0-9]*`));
  }
  if (selection.alive) conditions.push('ended IS NULL');
  if (selection.untagged) {
    conditions.push("NOT EXISTS (SELECT 1 FROM tag WHERE tag.plant = plant.number AND status = 'current')");
  }
  if (selection.queued) {
    conditions.push(
      `EXISTS (SELECT 1 FROM tag WHERE tag.plant = plant.number)
       AND NOT EXISTS (SELECT 1 FROM tag WHERE tag.plant = plant.number AND status = 'current')`,
    );
  }
  return { where: conditions.join(' AND '), values };
}

/** So many plants' histories are in memory at once. */
const HISTORIES_AT_ONCE = 2000;

/** Plants with what was seen on them, in the order of enrolment, without the whole ledger in memory. */
export function* histories(database: Database, selection: PlantSelection): Generator<History> {
  const { where, values } = conditionOf(selection);
  const plantsAfter = `SELECT ${PLANT_COLUMNS} FROM plant WHERE ${where} AND number > ?
    ORDER BY number LIMIT ${HISTORIES_AT_ONCE}`;
  const seenOn = `SELECT seen.plant, ${OBSERVATION_COLUMNS}
    FROM standing_observation AS seen JOIN journal USING (seq)
    WHERE seen.plant IN (SELECT value FROM json_each(?)) ORDER BY seen.plant, date, place, copy, seq`;
  for (let last = 0; ; ) {
    const plants = database.all<PlantRow>(plantsAfter, ...values, last).map(toPlant);
    const seen = new Map<number, KnownObservation[]>(plants.map(({ number }) => [number, []]));
    const numbers = JSON.stringify([...seen.keys()]);
    for (const row of database.all<KnownObservationRow & { plant: number }>(seenOn, numbers)) {
      seen.get(row.plant)?.push(toKnownObservation(row));
    }
    for (const plant of plants) yield { plant, observations: seen.get(plant.number) ?? [] };
    last = plants.at(-1)?.number ?? 0;
    if (plants.length < HISTORIES_AT_ONCE) return;
  }
}

export function tagsOf(database: Database, id: PlantId): Tag[] {
  const sql = `SELECT issue, status, issued.at AS issuedAt, reprinted.at AS reprintedAt, voided.at AS voidedAt,
      voided.body ->> 'why' AS voidedBecause, stock, sheet, page, sheet_row AS row, sheet_column AS "column"
    FROM tag JOIN journal AS issued ON issued.seq = tag.seq
      LEFT JOIN journal AS reprinted ON reprinted.seq = tag.reprinted
      LEFT JOIN journal AS voided ON voided.seq = tag.voided
    WHERE plant = (SELECT number FROM plant WHERE id = ?) ORDER BY issue`;
  return database.all<Tag>(sql, id);
}

/** Plants whose tags are handed over as one text: a row each would take ten times as long. */
const PLANTS_AT_ONCE = 20_000;

export function numberOfLastEntry(database: Database): number {
  return database.get<{ last: number | null }>('SELECT max(seq) AS last FROM journal')?.last ?? 0;
}

export function* tagTexts(database: Database, after: number, upTo: number): Generator<string[]> {
  if (after > 0) return yield* tagTextsOfEntries(database, after, upTo);
  const last =
    database.get<{ number: number | null }>('SELECT max(number) AS number FROM plant')?.number ?? 0;
  const sql = `SELECT group_concat(id || '.' || issue, ' ') AS texts
    FROM tag JOIN plant ON plant.number = tag.plant WHERE tag.plant > ? AND tag.plant <= ? AND tag.seq <= ?`;
  for (let first = 0; first < last; first += PLANTS_AT_ONCE) {
    const row = database.get<{ texts: string | null }>(sql, first, first + PLANTS_AT_ONCE, upTo);
    if (typeof row?.texts === 'string') yield row.texts.split(' ');
  }
}

/** From the journal, where those of a few entries are found without going through all tags. */
function* tagTextsOfEntries(database: Database, after: number, upTo: number): Generator<string[]> {
  const sql = `SELECT group_concat(body ->> 'id' || '.' || (body ->> 'issue'), ' ') AS texts
    FROM journal WHERE seq > ? AND seq <= ? AND kind = 'tag-issued'`;
  for (let first = after; first < upTo; first += PLANTS_AT_ONCE) {
    const row = database.get<{ texts: string | null }>(sql, first, Math.min(upTo, first + PLANTS_AT_ONCE));
    if (typeof row?.texts === 'string') yield row.texts.split(' ');
  }
}

export function lastTags(
  database: Database,
  ids: readonly PlantId[],
): Map<PlantId, Pick<Tag, 'issue' | 'status'>> {
  // With max(), SQLite takes the other columns from its row.
  const sql = `SELECT plant.id, max(issue) AS issue, status FROM tag JOIN plant ON plant.number = tag.plant
    WHERE plant.id IN (SELECT value FROM json_each(?)) GROUP BY plant.id`;
  const tags = new Map<PlantId, Pick<Tag, 'issue' | 'status'>>();
  for (const batch of batches(ids)) {
    const rows = database.all<{ id: PlantId; issue: number; status: TagStatus }>(sql, JSON.stringify(batch));
    for (const { id, issue, status } of rows) tags.set(id, { issue, status });
  }
  return tags;
}

/** @param condition which one, with one value to fill in; of several the last counts */
export function findSheet(
  database: Database,
  condition: 'file' | 'stock',
  value: string,
): PrintedSheet | undefined {
  const sql = `SELECT body, at FROM journal
    WHERE seq = (SELECT max(seq) FROM sheet WHERE ${condition} = ?)`;
  const row = database.get<{ body: string; at: string }>(sql, value);
  return row === undefined ? undefined : { ...(fromJson(row.body) as PrintedSheet), printedAt: row.at };
}

/** The entries that follow the sheet's own, up to the next entry of another kind. */
export function sheetTags(database: Database, file: string): SheetTag[] {
  const sql = `WITH first AS (SELECT max(seq) + 1 AS seq FROM sheet WHERE file = ?),
      next AS (SELECT coalesce(min(journal.seq), 9e15) AS seq FROM journal, first
        WHERE journal.seq >= first.seq AND kind NOT IN ('tag-issued', 'tag-reprinted'))
    SELECT body FROM journal, first, next
    WHERE journal.seq >= first.seq AND journal.seq < next.seq ORDER BY journal.seq`;
  return database.all<{ body: string }>(sql, file).map(({ body }) => {
    const { id, issue, page, row, column } = fromJson(body) as SheetTag;
    return { id, issue, page, row, column };
  });
}

export function sheetsWith(database: Database, ids: readonly PlantId[]): string[] {
  const files = new Set<string>();
  const issued = `SELECT DISTINCT body ->> 'sheet' AS file FROM plant JOIN tag ON tag.plant = plant.number
    JOIN journal USING (seq) WHERE plant.id IN (SELECT value FROM json_each(?))`;
  for (const batch of batches(ids)) {
    for (const { file } of database.all<{ file: string }>(issued, JSON.stringify(batch))) files.add(file);
  }
  // A tag keeps only its last reprint; a sheet of reprints is told by its first tag.
  const reprints = `SELECT file FROM sheet JOIN journal ON journal.seq = sheet.seq + 1
    WHERE journal.kind = 'tag-reprinted'`;
  const wanted = new Set<string>(ids);
  for (const { file } of database.all<{ file: string }>(reprints)) {
    if (!files.has(file) && sheetTags(database, file).some(({ id }) => wanted.has(id))) files.add(file);
  }
  return [...files];
}

export function calibrationOf(database: Database, printer: string): Calibration | undefined {
  const sql = 'SELECT body FROM printer JOIN journal USING (seq) WHERE name = ?';
  const row = database.get<{ body: string }>(sql, printer);
  if (row === undefined) return undefined;
  const { nudgeMm, scale } = fromJson(row.body) as Calibration;
  return { nudgeMm, scale };
}

interface ObservationRow {
  readonly number: number;
  readonly entry: string;
  readonly body: string;
  readonly by: string;
  readonly at: string;
}

interface KnownObservationRow extends ObservationRow {
  readonly doubtful: number;
}

/** Of `seen`, a standing observation, joined with its entry. */
const OBSERVATION_COLUMNS = `seq AS number, lower(hex(journal.id)) AS entry, body, by, at,
  body ->> 'withoutTag' IS NULL AND EXISTS (
    SELECT 1 FROM doubt_plant JOIN open_doubt ON open_doubt.seq = doubt_plant.doubt
    WHERE doubt_plant.plant = seen.plant AND seen.date > coalesce(after, '') AND seen.date <= until
      AND NOT EXISTS (SELECT 1 FROM standing_correction WHERE observation = seen.seq)) AS doubtful`;

export function observationsOf(database: Database, id: PlantId): KnownObservation[] {
  const sql = `SELECT ${OBSERVATION_COLUMNS}
    FROM standing_observation AS seen JOIN journal USING (seq)
    WHERE seen.plant = (SELECT number FROM plant WHERE id = ?) ORDER BY date, place, copy, seq`;
  return database.all<KnownObservationRow>(sql, id).map(toKnownObservation);
}

export function plantOfObservation(database: Database, entry: string): PlantId | undefined {
  const sql = `SELECT plant.id FROM journal JOIN standing_observation AS seen USING (seq)
      JOIN plant ON plant.number = seen.plant
    WHERE journal.id = unhex(replace(?, '-', ''))`;
  return database.get<{ id: PlantId }>(sql, entry)?.id;
}

export function withdrawnObservationsOf(database: Database, id: PlantId): WithdrawnObservation[] {
  const sql = `SELECT journal.seq AS number, lower(hex(journal.id)) AS entry, journal.body, journal.by, journal.at,
      taken.at AS withdrawnAt, taken.by AS withdrawnBy, taken.body ->> 'why' AS why
    FROM observation JOIN withdrawal ON withdrawal.entry = observation.seq
      JOIN journal ON journal.seq = observation.seq JOIN journal AS taken ON taken.seq = withdrawal.by
      LEFT JOIN merged ON merged.seq = observation.seq
    WHERE plant = (SELECT number FROM plant WHERE id = ?) ORDER BY date, coalesce(place, observation.seq), copy, observation.seq`;
  type Row = ObservationRow & {
    readonly withdrawnAt: string;
    readonly withdrawnBy: string;
    readonly why: string;
  };
  return database.all<Row>(sql, id).map(({ withdrawnAt, withdrawnBy, why, ...row }) => ({
    ...toObservation(row),
    withdrawn: { at: withdrawnAt, by: withdrawnBy, why },
  }));
}

export function latestValues(
  database: Database,
  ids: readonly PlantId[],
  until: string,
): Map<PlantId, Map<string, LatestValue>> {
  // With max(), SQLite takes the other columns from its row; of one day the later entry counts,
  // and a copy's after what it was copied with: a space sorts before every ID.
  const sql = `SELECT plant.id, seen.key AS trait, seen.value, observation.date,
      max(observation.date || printf('%016d', place) || coalesce(copy, ' ') || printf('%016d', observation.seq))
    FROM plant JOIN standing_observation AS observation ON observation.plant = plant.number
      JOIN journal USING (seq), json_each(journal.body, '$.values') AS seen
    WHERE plant.id IN (SELECT value FROM json_each(?)) AND observation.date <= ?
    GROUP BY plant.number, seen.key`;
  const latest = new Map<PlantId, Map<string, LatestValue>>();
  for (const batch of batches(ids)) {
    const rows = database.all<{ id: PlantId; trait: string } & LatestValue>(
      sql,
      JSON.stringify(batch),
      until,
    );
    for (const { id, trait, value, date } of rows) {
      const traits = latest.get(id) ?? new Map<string, LatestValue>();
      latest.set(id, traits.set(trait, { value, date }));
    }
  }
  return latest;
}

function toObservation(row: ObservationRow): Observation {
  const { date, values, issue, photo } = fromJson(row.body) as Pick<
    Observation,
    'date' | 'values' | 'issue' | 'photo'
  >;
  const { number, by, at: recordedAt } = row;
  return { number, entry: uuidOf(row.entry), date, values, issue, photo, by, recordedAt };
}

function toKnownObservation(row: KnownObservationRow): KnownObservation {
  const { id, withoutTag } = fromJson(row.body) as { id: PlantId; withoutTag?: true };
  return {
    ...toObservation(row),
    recordedAs: id,
    byTag: withoutTag === undefined,
    doubtful: row.doubtful === 1,
  };
}

/** @param hex 32 hexadecimal digits in lower case */
export function uuidOf(hex: string): string {
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
