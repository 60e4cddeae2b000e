/**
 * A ledger that several machines share: its journal is in PostgreSQL, and every machine keeps a copy of the
 * whole ledger, from which it reads.
 *
 * Before anything is read, the entries that others recorded meanwhile are fetched and put through the same
 * `derive` as everywhere. Who writes holds a lock on the server from the fetching to the commit, so that two
 * never give out one ID. What is recorded is in the copy once it is on the server; if only that worked, the
 * copy gets it the next time like anybody's.
 */
import { randomUUID } from 'node:crypto';
import { existsSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { LedgerError } from '../../errors.js';
import { writeWhole } from '../../files.js';
import type { IdLength } from '../../ids/plant-id.js';
import type { Database } from '../database.js';
import { derive } from '../derive.js';
import { hasNotice, makeFolder, NOTICE_FILE } from '../folders.js';
import {
  entryHash,
  followsFrom,
  insertEntries,
  type JournalEntry,
  journalEntries,
  type LastEntry,
  lastEntry,
  NO_HASH,
  newEntryId,
  parseEntry,
} from '../journal.js';
import type { Ledger, LedgerWriter } from '../ledger.js';
import { type Clock, databaseFile, findDatabase, SqliteReader, SqliteWriter } from '../sqlite-ledger.js';
import { makeFromJournal } from '../transfer.js';
import type { SharedAddress } from './address.js';
import { markShared } from './marker.js';
import { asPhoto, namedFiles, placeOf, withBytes } from './named-files.js';
import { JournalServer, type NamedFile, OutcomeUnknown, type ServerTransaction } from './server.js';

/** So many entries are fetched at once. */
const BATCH = 10_000;

/** Opens the ledger, with this machine's copy of it up to date; undefined if the database holds none. */
export async function findSharedLedger(address: SharedAddress, now: Clock): Promise<Ledger | undefined> {
  const server = new JournalServer(address.url, address.name);
  try {
    if (!(await server.hasLedger())) {
      if (hasNotice(address.folder)) throw anotherLedger(address);
      server.close();
      return undefined;
    }
    return await openCopy(server, address, now);
  } catch (error) {
    server.close();
    throw error;
  }
}

/** @throws LedgerError `missing` if the database holds no ledger */
export async function openSharedLedger(address: SharedAddress, now: Clock): Promise<Ledger> {
  const ledger = await findSharedLedger(address, now);
  if (ledger !== undefined) return ledger;
  throw new LedgerError(
    'missing',
    `There is no ledger at ${address.name} yet.`,
    'Enrol a CSV of plants to make one (pottag enrol FILE.csv), or bring one there (pottag share).',
  );
}

/**
 * Brings this machine's copy up to date, also with photos that came to the server later than the entries that name them.
 *
 * @throws LedgerError `missing` if the database holds no ledger
 */
export async function bringCopyUpToDate(address: SharedAddress, now: Clock): Promise<void> {
  const ledger = await openSharedLedger(address, now);
  ledger.close();
  const server = new JournalServer(address.url, address.name);
  try {
    await bringFiles(server, address.folder, await server.files());
  } finally {
    server.close();
  }
}

/** Makes a new, empty ledger, unless another machine was quicker. */
export async function createSharedLedger(
  address: SharedAddress,
  idLength: IdLength,
  by: string,
  now: Clock,
): Promise<Ledger> {
  const server = new JournalServer(address.url, address.name);
  try {
    await server.write(async (transaction) => {
      if (await server.hasLedger()) return;
      await transaction.makeTables();
      const entry = {
        seq: 1,
        id: newEntryId(),
        at: now().toISOString(),
        by,
        kind: 'ledger-made',
        body: JSON.stringify({ ledger: randomUUID(), idLength }),
      };
      await transaction.append([{ ...entry, hash: entryHash(NO_HASH, entry) }]);
      await transaction.commit();
    });
    return await openCopy(server, address, now);
  } catch (error) {
    server.close();
    throw error;
  }
}

async function openCopy(server: JournalServer, address: SharedAddress, now: Clock): Promise<Ledger> {
  const { folder } = address;
  // Two commands may be the first at once; the second then finds it made.
  const found = await inTurn(folder, async () => {
    const kept = existsSync(databaseFile(folder)) ? findDatabase(folder) : undefined;
    if (kept !== undefined) return kept;
    await makeCopy(server, address);
    return findDatabase(folder);
  });
  if (found === undefined) throw anotherLedger(address);
  const ledger = new SharedLedger(address, server, found.idLength, found.database, now);
  try {
    await ledger.fetchNew();
  } catch (error) {
    ledger.close();
    throw error;
  }
  return ledger;
}

async function makeCopy(server: JournalServer, address: SharedAddress): Promise<void> {
  makeFolder(address.folder);
  markShared(address.folder, address.name);
  rmSync(join(address.folder, NOTICE_FILE), { force: true }); // If only the database was lost; until it is whole again.
  try {
    await makeFromJournal(address.folder, allEntries(server, address));
  } catch (error) {
    if (findDatabase(address.folder) === undefined) throw error; // Else another command was quicker.
  }
}

async function* allEntries(server: JournalServer, address: SharedAddress): AsyncGenerator<JournalEntry> {
  let before: LastEntry = { seq: 0, hash: NO_HASH };
  for (;;) {
    const batch = await server.entriesFrom(before.seq + 1, BATCH);
    before = checked(before, batch, address);
    await bringFiles(server, address.folder, namedFiles(batch));
    yield* batch;
    if (batch.length < BATCH) return;
  }
}

/** The last of the entries, or the one before them. @throws LedgerError unless each follows from the one before it */
function checked(before: LastEntry, entries: readonly JournalEntry[], { name }: SharedAddress): LastEntry {
  let last = before;
  for (const entry of entries) {
    if (!followsFrom(last, entry)) {
      throw new LedgerError(
        'damaged',
        `Entry ${last.seq + 1} at ${name}, or one before it, was changed, lost or put in another order.`,
        'The copies on the machines that used it hold it as it was: pottag share --help.',
      );
    }
    if (parseEntry(entry) === undefined) {
      throw new LedgerError(
        'newer',
        `Entry ${entry.seq} at ${name} ("${entry.kind}") was made by a newer Pottag.`,
        'Use the newer Pottag on this machine too; nothing was changed.',
      );
    }
    last = entry;
  }
  return last;
}

/** Before the entries that name them, so that whatever the copy tells of is there. */
async function bringFiles(server: JournalServer, folder: string, files: Iterable<NamedFile>): Promise<void> {
  for (const named of files) {
    const target = placeOf(named, folder);
    if (target === undefined || existsSync(target)) continue;
    const bytes = await server.fileBytes(named);
    if (bytes === undefined) continue;
    makeFolder(join(folder, named.folder));
    writeWhole(target, bytes);
  }
}

class SharedLedger extends SqliteReader implements Ledger {
  /** The write under way; the next one waits for it, since both share one connection. */
  #writing: Promise<unknown> = Promise.resolve();
  /** What was said when a write last found the server out of reach, and when (ms). */
  #outOfReach: { readonly error: unknown; readonly at: number } | undefined;
  /** Then it reads what it is writing, to which nobody adds. */
  #isWriting = false;

  constructor(
    private readonly address: SharedAddress,
    private readonly server: JournalServer,
    readonly idLength: IdLength,
    database: Database,
    private readonly now: Clock,
  ) {
    super(database);
  }

  get folder(): string {
    return this.address.folder;
  }

  write<T>(by: string, work: (writer: LedgerWriter) => Promise<T>): Promise<T> {
    const askedAt = performance.now();
    const turn = this.#writing.then(() => {
      // Else each that waited would look for the server in vain itself, one after the other.
      if (this.#outOfReach !== undefined && this.#outOfReach.at > askedAt) throw this.#outOfReach.error;
      return this.server.write(async (transaction) => {
        await this.fetchNew();
        return inTurn(this.folder, () => this.#writeAlone(transaction, by, work));
      });
    });
    this.#writing = turn.catch((error: unknown) => {
      const isKnown = error instanceof LedgerError && !(error instanceof OutcomeUnknown);
      if (isKnown && error.code === 'unreachable') this.#outOfReach = { error, at: performance.now() };
    });
    return turn;
  }

  /** Brings the copy up to date. */
  async fetchNew(): Promise<void> {
    for (;;) {
      const last = lastEntry(this.database);
      // The last one that is here too, to see that it is the same there.
      const [same, ...fresh] = await this.server.entriesFrom(last.seq, BATCH);
      if (same === undefined || !Buffer.from(last.hash).equals(same.hash)) {
        throw anotherLedger(this.address);
      }
      if (fresh.length === 0) return;
      await bringFiles(this.server, this.folder, namedFiles(fresh));
      await inTurn(this.folder, async () => takeOver(this.database, fresh, this.address));
    }
  }

  close(): void {
    this.database.close();
    this.server.close();
  }

  protected override async current(): Promise<Database> {
    if (!this.#isWriting) await this.fetchNew();
    return this.database;
  }

  async #writeAlone<T>(
    transaction: ServerTransaction,
    by: string,
    work: (writer: LedgerWriter) => Promise<T>,
  ): Promise<T> {
    const { database } = this;
    database.execute('BEGIN IMMEDIATE');
    this.#isWriting = true;
    try {
      const before = lastEntry(database).seq;
      const writer = new SqliteWriter(database, this.now().toISOString(), by);
      const result = await work(writer);
      writer.flush();
      const entries = [...journalEntries(database, before)];
      const files = [...namedFiles(entries), ...writer.latePhotos.map(asPhoto)];
      for (const file of withBytes(this.folder, await transaction.lacking(files))) {
        await transaction.keep(file);
      }
      await transaction.append(entries);
      await transaction.commit();
      this.#settle();
      return result;
    } catch (error) {
      database.rollback();
      throw error;
    } finally {
      this.#isWriting = false;
    }
  }

  /** It is recorded now, whatever happens to the copy: what that misses it gets the next time. */
  #settle(): void {
    try {
      this.database.execute('COMMIT');
    } catch {
      this.database.rollback();
    }
  }
}

/** Puts entries into the copy, but for those that another command has brought meanwhile. */
function takeOver(database: Database, entries: readonly JournalEntry[], address: SharedAddress): void {
  database.execute('BEGIN IMMEDIATE');
  try {
    const before = lastEntry(database);
    const fresh = entries.filter(({ seq }) => seq > before.seq);
    checked(before, fresh, address);
    insertEntries(database, fresh);
    derive(database, fresh);
    database.execute('COMMIT');
  } catch (error) {
    database.rollback();
    throw error;
  }
}

/** Who writes in a copy keeps its lock while waiting for the server, so this process must not wait for it itself. */
const turns = new Map<string, Promise<unknown>>();

function inTurn<T>(folder: string, work: () => Promise<T>): Promise<T> {
  const turn = (turns.get(folder) ?? Promise.resolve()).then(work);
  turns.set(
    folder,
    turn.catch(() => {}),
  );
  return turn;
}

function anotherLedger({ folder, name }: SharedAddress): LedgerError {
  return new LedgerError(
    'damaged',
    `The ledger at ${name} is not the one that the copy in ${folder} was made of, or was put back to an earlier state.`,
    'Find out which of them is right before anybody records or prints. If it is the server, move the copy aside; if it is the copy, see pottag share --help.',
  );
}
