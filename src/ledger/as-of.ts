/**
 * The ledger as it told of a plant at an earlier time: the entries up to then that concern the plant, put
 * through the same `derive` as when they were written.
 *
 * Goes through the whole journal once, since bodies have no index: about a second for a million entries.
 */
import type { IdLength, PlantId } from '../ids/plant-id.js';
import { Database } from './database.js';
import { deriveAll } from './migrate.js';
import { DERIVED_SCHEMA, JOURNAL_SCHEMA } from './schema.js';
import { databaseFile, SqliteReader } from './sqlite-ledger.js';

/** Reads of a plant, and of what was taken from it; other plants may be missing or half told. */
export class EarlierView extends SqliteReader {
  constructor(
    database: Database,
    readonly idLength: IdLength,
  ) {
    super(database);
  }

  close(): void {
    this.database.close();
  }
}

/** @param before the first instant that no longer counts */
export function viewAsOf(folder: string, idLength: IdLength, id: PlantId, before: Date): EarlierView {
  const scratch = Database.openOrCreate(':memory:');
  scratch.execute(JOURNAL_SCHEMA);
  scratch.execute(DERIVED_SCHEMA);
  scratch.run('ATTACH ? AS kept', databaseFile(folder));
  // The last entry of then and all before it, even if the clock was set back meanwhile. What was recorded in a
  // field copy was known here when it was merged.
  const last = scratch.get<{ seq: number }>(
    `SELECT seq FROM kept.journal WHERE at < ? AND NOT EXISTS (
       SELECT 1 FROM kept.journal AS merging WHERE merging.kind = 'merged'
         AND journal.seq BETWEEN merging.seq - (merging.body ->> 'entries') AND merging.seq - 1)
     ORDER BY seq DESC LIMIT 1`,
    before.toISOString(),
  )?.seq;
  scratch.run(CONCERNING, id, last ?? 0);
  scratch.run(PLACES, last ?? 0);
  deriveAll(scratch, last ?? 0);
  return new EarlierView(scratch, idLength);
}

/** The plant `?1`, its offspring, and every plant that corrections or doubts ever tied to one of them. */
const CONCERNING = `
  WITH RECURSIVE tied (plant) AS (
    SELECT number FROM kept.plant WHERE id = ?1 OR origin = ?1
    UNION
    SELECT iif(a = tied.plant, b, a) FROM tied JOIN kept.correction ON tied.plant IN (a, b)
    UNION
    SELECT other.plant FROM tied JOIN kept.doubt_plant AS own ON own.plant = tied.plant
      JOIN kept.doubt_plant AS other ON other.doubt = own.doubt
  ),
  concerned (id) AS MATERIALIZED (SELECT id FROM kept.plant WHERE number IN tied)
  INSERT INTO main.journal SELECT * FROM kept.journal
  WHERE seq <= ?2 AND CASE kind
    WHEN 'exchanged' THEN body ->> 'a' IN concerned
    WHEN 'doubted' THEN body ->> '$.plants[0]' IN concerned
    WHEN 'reassigned' THEN body ->> 'id' IN concerned
    WHEN 'withdrawn' THEN TRUE
    WHEN 'restored' THEN TRUE
    WHEN 'merged' THEN TRUE
    ELSE body ->> 'id' IN concerned
  END`;

/** The entries after which field copies were made: their place in the journal counts, whatever they say. */
const PLACES = `
  INSERT OR IGNORE INTO main.journal
  SELECT seq, id, at, by, 'ledger-made', body, hash FROM kept.journal
  WHERE seq <= ?1 AND id IN (
    SELECT unhex(replace(body ->> 'after', '-', '')) FROM kept.journal WHERE kind = 'merged')`;
