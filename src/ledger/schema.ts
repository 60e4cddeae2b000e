/**
 * The tables of a ledger. `journal` is the truth; the others are derived from it, entry by entry, and
 * can be made anew from it at any time.
 */

/** Kept in SQLite's `user_version`. A ledger with a higher one was made by a newer Pottag. */
export const SCHEMA_VERSION = 3;

/** Kept in SQLite's `application_id`, to know a ledger from any other database: the letters `Pott`. */
export const APPLICATION_ID = 0x506f7474;

export const JOURNAL_SCHEMA = `
  CREATE TABLE journal (
    seq  INTEGER PRIMARY KEY,
    id   BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    at   TEXT NOT NULL,
    by   TEXT NOT NULL,
    kind TEXT NOT NULL,
    body TEXT NOT NULL,
    hash BLOB NOT NULL CHECK (length(hash) = 32)
  ) STRICT;
  CREATE TRIGGER journal_keeps_entries BEFORE DELETE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
  CREATE TRIGGER journal_keeps_content BEFORE UPDATE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
`;

/** Each derived table with the columns that put its rows in order. */
export const DERIVED_TABLES = {
  plant: 'number',
  tag: 'plant, issue',
  observation: 'seq',
  withdrawal: 'entry',
  correction: 'seq',
  doubt: 'seq',
  doubt_plant: 'doubt, plant',
  change: 'seq',
  sheet: 'seq',
  printer: 'name',
  copied: 'seq',
  merged: 'seq',
} as const;

export const DERIVED_SCHEMA = `
  CREATE TABLE plant (
    number        INTEGER PRIMARY KEY,
    id            TEXT NOT NULL UNIQUE,
    key           TEXT NOT NULL UNIQUE,
    kind          TEXT NOT NULL,
    seed_parent   TEXT,
    pollen_parent TEXT,
    sown          TEXT,
    origin        TEXT,
    station       TEXT,
    type          TEXT,
    note          TEXT,
    extra         TEXT NOT NULL,
    ended         TEXT,
    -- The entry that said last where it stands, sightings apart.
    placed        INTEGER NOT NULL
  ) STRICT;
  CREATE INDEX plant_of_origin ON plant (origin) WHERE origin IS NOT NULL;
  CREATE TABLE tag (
    plant  INTEGER NOT NULL,
    issue  INTEGER NOT NULL,
    status TEXT NOT NULL,
    seq    INTEGER NOT NULL,
    stock  TEXT NOT NULL,
    sheet  TEXT NOT NULL,
    page   INTEGER NOT NULL,
    sheet_row    INTEGER NOT NULL,
    sheet_column INTEGER NOT NULL,
    reprinted INTEGER,
    voided    INTEGER,
    PRIMARY KEY (plant, issue)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE observation (
    seq   INTEGER PRIMARY KEY,
    plant INTEGER NOT NULL,
    date  TEXT NOT NULL
  ) STRICT;
  CREATE INDEX observation_of_plant ON observation (plant, date);
  -- Entries that are taken back, and the entry that does it.
  CREATE TABLE withdrawal (
    entry INTEGER PRIMARY KEY,
    by    INTEGER NOT NULL
  ) STRICT;
  -- Exchanges of a and b; or, where an observation is named, its move from a, as recorded, to b.
  CREATE TABLE correction (
    seq   INTEGER PRIMARY KEY,
    a     INTEGER NOT NULL,
    b     INTEGER NOT NULL,
    since TEXT,
    until TEXT,
    observation INTEGER
  ) STRICT;
  CREATE TABLE doubt (
    seq    INTEGER PRIMARY KEY,
    after  TEXT,
    until  TEXT NOT NULL
  ) STRICT;
  CREATE TABLE doubt_plant (
    plant INTEGER NOT NULL,
    doubt INTEGER NOT NULL,
    PRIMARY KEY (plant, doubt)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE change (
    seq   INTEGER PRIMARY KEY,
    first INTEGER NOT NULL
  ) STRICT;
  -- The entry that made this ledger a field copy; in the ledger at home there is none.
  CREATE TABLE copied (
    seq INTEGER PRIMARY KEY
  ) STRICT;
  -- Observations brought home from a field copy, which was made when place was the last entry.
  CREATE TABLE merged (
    seq   INTEGER PRIMARY KEY,
    place INTEGER NOT NULL,
    copy  TEXT NOT NULL
  ) STRICT;
  -- What is taken back is left out of all that is read. An observation counts as recorded after the entry
  -- place; of those of one place the order is that of copies, then of entries.
  CREATE VIEW standing_observation AS
    SELECT observation.seq, plant, date, coalesce(place, observation.seq) AS place, copy
    FROM observation LEFT JOIN merged ON merged.seq = observation.seq
    WHERE observation.seq NOT IN (SELECT entry FROM withdrawal);
  CREATE VIEW standing_correction AS
    SELECT seq, a, b, since, until, observation FROM correction WHERE seq NOT IN (SELECT entry FROM withdrawal);
  -- Doubts that were not taken back and have a plant that no later exchange among their plants settles.
  CREATE VIEW open_doubt AS
    SELECT seq, after, until FROM doubt
    WHERE seq NOT IN (SELECT entry FROM withdrawal) AND EXISTS (
      SELECT 1 FROM doubt_plant AS own WHERE own.doubt = doubt.seq AND NOT EXISTS (
        SELECT 1 FROM standing_correction AS exchange
        WHERE exchange.seq > doubt.seq AND observation IS NULL AND own.plant IN (a, b)
          AND EXISTS (SELECT 1 FROM doubt_plant WHERE doubt = doubt.seq AND plant = a)
          AND EXISTS (SELECT 1 FROM doubt_plant WHERE doubt = doubt.seq AND plant = b)));
  CREATE TABLE sheet (
    seq   INTEGER PRIMARY KEY,
    file  TEXT NOT NULL,
    stock TEXT NOT NULL
  ) STRICT;
  CREATE INDEX sheet_by_file ON sheet (file);
  CREATE TABLE printer (
    name TEXT PRIMARY KEY,
    seq  INTEGER NOT NULL
  ) STRICT, WITHOUT ROWID;
`;
