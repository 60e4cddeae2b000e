/**
 * A ledger in a folder: SQLite in write-ahead mode, flushed to the disk at every commit.
 *
 * Opening reads one row by its key, so it costs the same at a hundred plants and at a million.
 */
import { join } from 'node:path';
import { LedgerError } from '../errors.js';
import { type IdLength, isIdLength, type PlantId } from '../ids/plant-id.js';
import { type Change, changeOf, doubtsAbout, exchangesOf, latestChanges } from './changes.js';
import { Database, PUT_BACK_A_COPY } from './database.js';
import type { NewEntry } from './entries.js';
import { fieldCopyOf } from './field-copy.js';
import { hasNotice, makeFolder, writeNotice } from './folders.js';
import type { JournalWriter } from './journal.js';
import type { KeptFile } from './kept-files.js';
import type { FieldCopy, Ledger, LedgerReader, LedgerWriter, PlantSelection, Recorded } from './ledger.js';
import { migrate } from './migrate.js';
import type {
  Calibration,
  Doubt,
  Exchange,
  History,
  KnownObservation,
  LatestValue,
  Plant,
  PrintedSheet,
  SheetTag,
  Tag,
  WithdrawnObservation,
} from './model.js';
import {
  calibrationOf,
  findSheet,
  histories,
  lastTags,
  latestValues,
  numberOfLastEntry,
  observationsOf,
  plantOfObservation,
  plantsBy,
  plantsCounted,
  plantsLike,
  plantsSelected,
  sheetsWith,
  sheetTags,
  stationsOf,
  tagsOf,
  tagTexts,
  withdrawnObservationsOf,
} from './queries.js';
import { APPLICATION_ID, DERIVED_SCHEMA, JOURNAL_SCHEMA, SCHEMA_VERSION } from './schema.js';
import { refuseSharedCopy } from './shared/marker.js';

const DATABASE_FILE = 'ledger.sqlite';

/** Instants for the journal; passed in so that a test or a demo can set them. */
export type Clock = () => Date;

export function databaseFile(folder: string): string {
  return join(folder, DATABASE_FILE);
}

/** Opens the ledger in `folder`, or returns undefined if there is none. */
export function findLedger(folder: string, now: Clock): Ledger | undefined {
  const found = findDatabase(folder);
  return found === undefined ? undefined : new SqliteLedger(folder, found.idLength, found.database, now);
}

/** Opens the database of the ledger in `folder`, brought up to date; undefined if there is none. */
export function findDatabase(folder: string): { database: Database; idLength: IdLength } | undefined {
  const database = Database.open(databaseFile(folder));
  const idLength = database === undefined ? undefined : readIdLength(database, folder);
  if (database !== undefined && idLength !== undefined) {
    if (database.pragma('user_version') !== SCHEMA_VERSION) migrate(folder, databaseFile(folder), database);
    return { database, idLength };
  }
  database?.close();
  // A new one in its place would give out the same IDs again.
  if (hasNotice(folder))
    throw damaged(`The ledger in ${folder} has lost its file ${DATABASE_FILE}, or all that was in it.`);
  return undefined;
}

/** @throws LedgerError `missing` if there is no ledger in `folder` */
export function openLedger(folder: string, now: Clock): Ledger {
  const ledger = findLedger(folder, now);
  if (ledger !== undefined) return ledger;
  throw new LedgerError(
    'missing',
    `There is no ledger in ${folder}.`,
    'Enrol a CSV of plants to make one (pottag enrol FILE.csv), or name its folder with --ledger.',
  );
}

/** Makes a new, empty ledger in `folder`, which is made too if need be. */
export async function createLedger(
  folder: string,
  idLength: IdLength,
  by: string,
  now: Clock,
): Promise<Ledger> {
  makeFolder(folder);
  const { randomUUID } = await import('node:crypto');
  const database = Database.openOrCreate(databaseFile(folder));
  database.pragma('journal_mode = WAL');
  try {
    await transact(database, by, now, async (writer) => {
      if (database.pragma('user_version') !== 0) return; // Another command made it meanwhile.
      database.execute(`PRAGMA application_id = ${APPLICATION_ID}`);
      database.execute(JOURNAL_SCHEMA);
      database.execute(DERIVED_SCHEMA);
      await writer.append({ kind: 'ledger-made', body: { ledger: randomUUID(), idLength } });
      database.execute(`PRAGMA user_version = ${SCHEMA_VERSION}`);
    });
  } finally {
    database.close();
  }
  writeNotice(folder);
  return openLedger(folder, now);
}

function damaged(message: string): LedgerError {
  return new LedgerError('damaged', message, PUT_BACK_A_COPY);
}

/** Undefined for a database in which no ledger was made (its making was cut short). */
function readIdLength(database: Database, folder: string): IdLength | undefined {
  const isEmpty = database.get<{ n: number }>('SELECT count(*) AS n FROM sqlite_schema')?.n === 0;
  const version = database.pragma('user_version');
  if (isEmpty && version === 0) return undefined;
  if (!isEmpty && database.pragma('application_id') !== APPLICATION_ID) {
    throw damaged(`${databaseFile(folder)} is a database of something else, or its beginning is damaged.`);
  }
  if (typeof version !== 'number' || version > SCHEMA_VERSION) {
    throw new LedgerError(
      'newer',
      `The ledger in ${folder} was made by a newer Pottag (its format is ${version}, this one knows ${SCHEMA_VERSION}).`,
      'Use the newer Pottag on it; nothing was changed.',
    );
  }
  // As bytes, for the binding ends the process on text that damage has made unreadable.
  const sql = 'SELECT CAST(body AS BLOB) AS body FROM journal WHERE seq = 1';
  const first = Buffer.from(database.get<{ body: Uint8Array }>(sql)?.body ?? []).toString();
  const length = Number(/"idLength":(\d)/.exec(first)?.[1]);
  if (isIdLength(length)) return length;
  throw damaged(`The ledger in ${folder} has lost its first entry.`);
}

export class SqliteReader implements LedgerReader {
  constructor(protected readonly database: Database) {}

  async plant(id: PlantId): Promise<Plant | undefined> {
    return plantsBy(await this.current(), 'id', [id])[0];
  }

  async plantsByIds(ids: readonly string[]): Promise<Plant[]> {
    return plantsBy(await this.current(), 'id', ids);
  }

  async plantsByKeys(keys: readonly string[]): Promise<Plant[]> {
    return plantsBy(await this.current(), 'key', keys);
  }

  async plantsLike(pattern: string, limit: number): Promise<Plant[]> {
    return plantsLike(await this.current(), pattern, limit);
  }

  async plants(selection: PlantSelection): Promise<Plant[]> {
    return plantsSelected(await this.current(), selection);
  }

  async count(selection: PlantSelection): Promise<number> {
    return plantsCounted(await this.current(), selection);
  }

  async stations(): Promise<string[]> {
    return stationsOf(await this.current());
  }

  async plantCount(): Promise<number> {
    const database = await this.current();
    return database.get<{ last: number | null }>('SELECT max(number) AS last FROM plant')?.last ?? 0;
  }

  async tags(id: PlantId): Promise<Tag[]> {
    return tagsOf(await this.current(), id);
  }

  async lastEntry(): Promise<number> {
    return numberOfLastEntry(await this.current());
  }

  async *tagTexts(after: number, upTo: number): AsyncGenerator<readonly string[]> {
    yield* tagTexts(await this.current(), after, upTo);
  }

  async lastTags(ids: readonly PlantId[]): Promise<Map<PlantId, Pick<Tag, 'issue' | 'status'>>> {
    return lastTags(await this.current(), ids);
  }

  async sheet(file: string): Promise<PrintedSheet | undefined> {
    return findSheet(await this.current(), 'file', file);
  }

  async lastSheetOf(stock: string): Promise<PrintedSheet | undefined> {
    return findSheet(await this.current(), 'stock', stock);
  }

  async sheetTags(file: string): Promise<SheetTag[]> {
    return sheetTags(await this.current(), file);
  }

  async sheetsWith(ids: readonly PlantId[]): Promise<string[]> {
    return sheetsWith(await this.current(), ids);
  }

  async calibration(printer: string): Promise<Calibration | undefined> {
    return calibrationOf(await this.current(), printer);
  }

  async plantsFrom(origin: PlantId): Promise<Plant[]> {
    return plantsBy(await this.current(), 'origin', [origin]);
  }

  async fieldCopy(): Promise<FieldCopy | undefined> {
    return fieldCopyOf(await this.current());
  }

  async plantOfObservation(entry: string): Promise<PlantId | undefined> {
    return plantOfObservation(await this.current(), entry);
  }

  async observations(id: PlantId): Promise<KnownObservation[]> {
    return observationsOf(await this.current(), id);
  }

  async withdrawnObservations(id: PlantId): Promise<WithdrawnObservation[]> {
    return withdrawnObservationsOf(await this.current(), id);
  }

  async doubts(id: PlantId): Promise<Doubt[]> {
    return doubtsAbout(await this.current(), id);
  }

  async exchanges(id: PlantId): Promise<Exchange[]> {
    return exchangesOf(await this.current(), id);
  }

  async change(entry: number | string): Promise<Change | undefined> {
    return changeOf(await this.current(), entry);
  }

  async changes(limit: number): Promise<Change[]> {
    return latestChanges(await this.current(), limit);
  }

  async *histories(selection: PlantSelection): AsyncIterable<History> {
    yield* histories(await this.current(), selection);
  }

  async latestValues(
    ids: readonly PlantId[],
    until: string,
  ): Promise<Map<PlantId, Map<string, LatestValue>>> {
    return latestValues(await this.current(), ids, until);
  }

  /** The database with everything in it that was written through this object. */
  protected async current(): Promise<Database> {
    return this.database;
  }
}

/** Kept, for even asking for a module that is there takes longer than an entry. */
let journalModule: Promise<typeof import('./journal.js')> | undefined;

export class SqliteWriter extends SqliteReader implements LedgerWriter {
  /** In a folder there is nothing more to do with them. */
  latePhotos: readonly KeptFile[] = [];
  #journal: JournalWriter | undefined;
  /** Loaded once, however many entries are appended before it is there. */
  #loading: Promise<JournalWriter> | undefined;

  constructor(
    database: Database,
    private readonly at: string,
    private readonly by: string,
  ) {
    super(database);
  }

  async append(entry: NewEntry, id?: string, recorded?: Pick<Recorded, 'at' | 'by'>): Promise<Recorded> {
    this.#loading ??= this.#load();
    return (await this.#loading).append(entry, id, recorded);
  }

  bringPhotos(photos: readonly KeptFile[]): void {
    this.latePhotos = [...this.latePhotos, ...photos];
  }

  /** The schemas take longer to load than most reads, and only writing needs them. */
  async #load(): Promise<JournalWriter> {
    journalModule ??= import('./journal.js');
    const { JournalWriter } = await journalModule;
    this.#journal = new JournalWriter(this.database, this.at, this.by);
    return this.#journal;
  }

  flush(): void {
    this.#journal?.flush();
  }

  protected override async current(): Promise<Database> {
    this.flush();
    return this.database;
  }
}

/** Runs `work` between BEGIN and COMMIT, or leaves no trace of it. */
async function transact<T>(
  database: Database,
  by: string,
  now: Clock,
  work: (writer: SqliteWriter) => Promise<T>,
): Promise<T> {
  database.execute('BEGIN IMMEDIATE');
  try {
    const writer = new SqliteWriter(database, now().toISOString(), by);
    const result = await work(writer);
    writer.flush();
    database.execute('COMMIT');
    return result;
  } catch (error) {
    database.rollback();
    throw error;
  }
}

class SqliteLedger extends SqliteReader implements Ledger {
  /** The write under way; the next one waits for it, since both share one connection. */
  #writing: Promise<unknown> = Promise.resolve();

  constructor(
    readonly folder: string,
    readonly idLength: IdLength,
    database: Database,
    private readonly now: Clock,
  ) {
    super(database);
  }

  write<T>(by: string, work: (writer: LedgerWriter) => Promise<T>): Promise<T> {
    const turn = this.#writing.then(() =>
      transact(this.database, by, this.now, (writer) => {
        refuseSharedCopy(this.folder); // It may have been shared since it was opened.
        return work(writer);
      }),
    );
    this.#writing = turn.catch(() => {});
    return turn;
  }

  close(): void {
    this.database.close();
  }
}
