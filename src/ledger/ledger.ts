/**
 * The ledger as the rest of Pottag sees it. Everything is a promise, so that a database on another
 * machine can stand behind the same interface.
 */
import type { IdLength, PlantId } from '../ids/plant-id.js';
import type { Change } from './changes.js';
import type { NewEntry } from './entries.js';
import type { KeptFile } from './kept-files.js';
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

/** Which plants to list; every condition given must hold. An empty selection is all plants. */
export interface PlantSelection {
  readonly seedParent?: string | null;
  readonly pollenParent?: string | null;
  readonly kind?: string;
  /** The beginning of the station's name. */
  readonly stationPrefix?: string;
  /** The station's name holds the numbers of at least one of these lists, as whole numbers; any name holds an empty list's. */
  readonly stationNumbers?: readonly (readonly number[])[];
  /** True: only plants that have no current tag. */
  readonly untagged?: boolean;
  /** True: only plants that had a tag and need another, their last one being void. */
  readonly queued?: boolean;
  /** True: only plants not yet seen dead or culled. */
  readonly alive?: boolean;
}

export interface LedgerReader {
  plant(id: PlantId): Promise<Plant | undefined>;
  /** The plants of those IDs or keys that are in the ledger, in no particular order. */
  plantsByIds(ids: readonly string[]): Promise<Plant[]>;
  plantsByKeys(keys: readonly string[]): Promise<Plant[]>;
  /** The cuttings and grafts taken from a plant. */
  plantsFrom(origin: PlantId): Promise<Plant[]>;
  /** Up to `limit` plants whose ID has this pattern, `?` standing for any one character. */
  plantsLike(pattern: string, limit: number): Promise<Plant[]>;
  /** In the order of enrolment. */
  plants(selection: PlantSelection): Promise<Plant[]>;
  /** How many plants `plants` would list. */
  count(selection: PlantSelection): Promise<number>;
  /** The name of every station where a plant stands or stood last, each once. */
  stations(): Promise<string[]>;
  /** How many plants were ever enrolled: the number of the last one. */
  plantCount(): Promise<number>;
  /** A plant's tags, first issue first. */
  tags(id: PlantId): Promise<Tag[]>;
  /** The number of the journal's last entry; 0 if there is none. */
  lastEntry(): Promise<number>;
  /**
   * The texts of the tags issued after the entry `after`, 0 for all, up to the entry `upTo` (`K7FY5.2`);
   * superseded and void ones too; some at a time.
   */
  tagTexts(after: number, upTo: number): AsyncIterable<readonly string[]>;
  /** The last issue of each plant that ever had a tag. */
  lastTags(ids: readonly PlantId[]): Promise<Map<PlantId, Pick<Tag, 'issue' | 'status'>>>;
  /** The sheet kept under this file name. */
  sheet(file: string): Promise<PrintedSheet | undefined>;
  /** The last sheet printed of a stock. */
  lastSheetOf(stock: string): Promise<PrintedSheet | undefined>;
  /** The tags on a sheet, reprinted ones too, in the order they were printed. */
  sheetTags(file: string): Promise<SheetTag[]>;
  /** The files of the sheets that any tag of these plants was printed or reprinted on. */
  sheetsWith(ids: readonly PlantId[]): Promise<string[]>;
  /** What a printer of this name needs; undefined if it was never calibrated. */
  calibration(printer: string): Promise<Calibration | undefined>;
  /** Undefined for a ledger at home. */
  fieldCopy(): Promise<FieldCopy | undefined>;
  /** The plant that an observation counts for, by its entry's UUID; undefined if it was taken back or is none. */
  plantOfObservation(entry: string): Promise<PlantId | undefined>;
  /** What was seen on a plant, by date, then in the order it was recorded. */
  observations(id: PlantId): Promise<KnownObservation[]>;
  /** What was taken back of what was seen on a plant, in the same order. */
  withdrawnObservations(id: PlantId): Promise<WithdrawnObservation[]>;
  /** Open doubts about which of several plants, this one among them, something was seen on. */
  doubts(id: PlantId): Promise<Doubt[]>;
  /** The standing exchanges of a plant with others. */
  exchanges(id: PlantId): Promise<Exchange[]>;
  /**
   * The change that an entry is: a group that was written together, or the entry by itself.
   * @param entry its number in the journal, or its UUID
   */
  change(entry: number | string): Promise<Change | undefined>;
  /** The latest changes of which something can be undone, latest first. */
  changes(limit: number): Promise<Change[]>;
  /** Plants with all that was seen on them, in the order of enrolment, a few in memory at a time. */
  histories(selection: PlantSelection): AsyncIterable<History>;
  /**
   * What was seen last of each trait of these plants, up to the day `until`; plants on which nothing was seen are left
   * out.
   */
  latestValues(ids: readonly PlantId[], until: string): Promise<Map<PlantId, Map<string, LatestValue>>>;
}

/** What the journal adds to an entry. */
export interface Recorded {
  /** Its place in the journal, counted from 1. */
  readonly number: number;
  /** The entry's time-ordered UUID. */
  readonly id: string;
  readonly at: string;
  readonly by: string;
}

/** That a ledger is a copy of another one, to record in where the other one is not. */
export interface FieldCopy {
  /** The entry that made it one: its UUID is the copy's name between machines. */
  readonly entry: string;
  /** The place of that entry in the copy's journal. What comes before it was copied. */
  readonly number: number;
  /** For whom or what it was made, as a person calls it. */
  readonly device: string;
  /** The folder of the ledger at home. */
  readonly of: string;
  readonly madeAt: string;
}

/** The ledger inside one transaction. */
export interface LedgerWriter extends LedgerReader {
  /**
   * @param id the entry's UUID, version 7, where whoever sends it made one, so as to send it again safely
   * @param recorded when and by whom, where it was recorded in a field copy
   * @throws InputError if this is a field copy and the entry is for the ledger at home to make
   */
  append(entry: NewEntry, id?: string, recorded?: Pick<Recorded, 'at' | 'by'>): Promise<Recorded>;
  /** Photos in the ledger's folder that came later than the entries that name them: they go wherever the journal is kept. */
  bringPhotos(photos: readonly KeptFile[]): void;
}

export interface LedgerView extends LedgerReader {
  readonly idLength: IdLength;
}

export interface Ledger extends LedgerView {
  /** The folder that holds the database, photos and printed sheets. */
  readonly folder: string;
  /**
   * Runs `work` in one transaction that no other writer can enter: all its entries are durable when
   * the promise resolves, or none is there when it rejects.
   * @param by who is writing
   */
  write<T>(by: string, work: (writer: LedgerWriter) => Promise<T>): Promise<T>;
  close(): void;
}
