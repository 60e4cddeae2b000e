/**
 * A new ledger of what is sound in a damaged one, which is only read. Entries that were as they are now
 * keep their content and IDs; the chain of hashes is made anew, and so is every other table.
 */
import { randomUUID } from 'node:crypto';
import { dirname, join } from 'node:path';
import { LedgerError } from '../errors.js';
import { capacity, numberOfId } from '../ids/allocation.js';
import { findSoundId, type IdLength, isIdLength, type PlantId } from '../ids/plant-id.js';
import { MAY_NAME } from './check.js';
import { Database, PUT_BACK_A_COPY } from './database.js';
import { derive } from './derive.js';
import { ENTRY_BODIES, type EntryKind, type NewEntry } from './entries.js';
import { Evidence, type Judged, type PlantRow } from './evidence.js';
import { makeFolder, writeNotice } from './folders.js';
import { entryHash, insertEntries, type JournalEntry, NO_HASH, newEntryId, parseEntry } from './journal.js';
import { APPLICATION_ID, DERIVED_SCHEMA, JOURNAL_SCHEMA, SCHEMA_VERSION } from './schema.js';
import { databaseFile } from './sqlite-ledger.js';

/** An entry that can be read but is not in the new ledger. Numbers are those of the damaged one. */
export interface LeftOut {
  readonly entry: number;
  readonly why: string;
  readonly at: string;
  readonly by: string;
  readonly kind: string;
  readonly body: string;
}

export interface Salvaged {
  /** Carried over. */
  readonly entries: number;
  /** Of which nothing is left, by their numbers, both included. */
  readonly lost: readonly { readonly first: number; readonly last: number }[];
  /** Carried over although a change in them would not show: the entry before each is lost or changed. */
  readonly unproven: readonly number[];
  readonly leftOut: readonly LeftOut[];
  /** Plants whose enrolment was lost, enrolled anew with what is still known of them. */
  readonly enrolledAnew: readonly PlantId[];
}

/**
 * @param into a new folder beside which there is room for as much again
 * @throws LedgerError if nothing can be read, or a newer Pottag wrote it
 */
export function salvage(folder: string, into: string, by: string, now: Date): Salvaged {
  makeFolder(into);
  const evidence = Evidence.gather(databaseFile(folder), join(dirname(into), 'evidence.sqlite'));
  const database = Database.openOrCreate(databaseFile(into));
  try {
    database.pragma('journal_mode = WAL');
    database.execute(`BEGIN IMMEDIATE; ${JOURNAL_SCHEMA} ${DERIVED_SCHEMA}`);
    const rebuilding = new Rebuilding(database, idLengthOf(folder, evidence), evidence.plants(), {
      by,
      at: now.toISOString(),
    });
    for (const judged of evidence.entries()) rebuilding.add(judged);
    rebuilding.end();
    database.execute(
      `PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${SCHEMA_VERSION}; COMMIT`,
    );
    writeNotice(into);
    const { entries, lost, unproven, leftOut, enrolledAnew } = rebuilding;
    return { entries, lost, unproven, leftOut, enrolledAnew };
  } finally {
    database.rollback();
    database.close();
    evidence.close();
  }
}

/** Every entry about a plant tells it, and so does the first of all. */
function idLengthOf(folder: string, evidence: Evidence): IdLength {
  for (const judged of evidence.entries()) {
    const entry = judged.kind === 'lost' || judged.kind === 'changed' ? undefined : parseEntry(judged.entry);
    if (entry?.kind === 'ledger-made') return entry.body.idLength;
    const length = entry === undefined ? undefined : plantsOf(entry)[0]?.length;
    if (isIdLength(length)) return length;
  }
  throw new LedgerError('damaged', `Nothing in ${databaseFile(folder)} can be read.`, PUT_BACK_A_COPY);
}

/** The plants that an entry is about. */
function plantsOf({ body }: NewEntry): readonly PlantId[] {
  if ('plants' in body) return body.plants;
  if ('a' in body) return [body.a, body.b];
  return 'id' in body ? [body.id] : [];
}

class Rebuilding implements Salvaged {
  entries = 0;
  readonly lost: { first: number; last: number }[] = [];
  readonly unproven: number[] = [];
  readonly leftOut: LeftOut[] = [];
  readonly enrolledAnew: PlantId[] = [];
  readonly #plantRows: ReadonlyMap<PlantId, PlantRow>;
  #last: Pick<JournalEntry, 'seq' | 'hash'> = { seq: 0, hash: NO_HASH };
  /** Number in the damaged journal; no entry up to it stands beside all its neighbours any more. */
  #brokenAt = 0;

  constructor(
    private readonly database: Database,
    private readonly idLength: IdLength,
    plantRows: Iterable<PlantRow>,
    private readonly own: { readonly at: string; readonly by: string },
  ) {
    this.#plantRows = new Map([...plantRows].map((row) => [row.id, row]));
  }

  add(judged: Judged): void {
    if (judged.kind === 'lost') {
      this.lost.push({ first: judged.first, last: judged.last });
      this.#brokenAt = judged.last;
      return;
    }
    const why = judged.kind === 'changed' ? 'its content was changed' : this.#carryOver(judged);
    if (why === null) {
      this.entries++;
      if (judged.kind === 'unproven') this.unproven.push(judged.entry.seq);
    } else {
      const { seq, at, by, kind, body } = judged.entry;
      this.leftOut.push({ entry: seq, why, at, by, kind, body });
      this.#brokenAt = seq;
    }
  }

  /** After the last: plants that nothing but their row tells of keep their IDs, which hang in the garden. */
  end(): void {
    this.#begin();
    for (const { id } of this.#plantRows.values()) this.#enrolIfMissing(id, Number.POSITIVE_INFINITY);
  }

  /** @returns why not, or null if it is in the new ledger */
  #carryOver({ kind, entry: stored }: Extract<Judged, { entry: JournalEntry }>): string | null {
    const entry = parseEntry(stored);
    if (entry === undefined) {
      if (kind === 'proven') throw newer(stored.kind);
      return `its content is not that of a "${stored.kind}" entry`;
    }
    if (entry.kind === 'ledger-made' && stored.seq !== 1) return 'another entry made the ledger';
    if (entry.kind !== 'ledger-made') this.#begin();
    const strange = plantsOf(entry).find((id) => !this.#canBe(id));
    if (strange !== undefined) return `${strange} can be no plant of this ledger`;
    const why = this.#namesLost(entry, stored.seq);
    if (why !== null) return why;
    if (entry.kind !== 'plant-enrolled') {
      for (const id of plantsOf(entry)) this.#enrolIfMissing(id, stored.seq);
    }
    return this.#append(stored);
  }

  /** The first entry, if it is lost. */
  #begin(): void {
    if (this.#last.seq > 0) return;
    const body = { ledger: randomUUID(), idLength: this.idLength };
    this.#append(this.#entry('ledger-made', body));
  }

  #canBe(id: PlantId): boolean {
    if (findSoundId(id, this.idLength) === undefined) return false;
    const number = numberOfId(id);
    return number >= 1 && number <= capacity(this.idLength);
  }

  /** What an entry says of entries before it has to be there. */
  #namesLost(entry: NewEntry, seq: number): string | null {
    const together = entry.kind === 'changed' || entry.kind === 'merged' ? entry.body.entries : 0;
    if (together > 0 && seq - together <= this.#brokenAt) {
      return 'not all entries that it ties together are there; each can be taken back on its own';
    }
    if (!('entry' in entry.body)) return null;
    const sql = "SELECT kind FROM journal WHERE id = unhex(replace(?, '-', ''))";
    const named = this.database.get<{ kind: EntryKind }>(sql, entry.body.entry)?.kind;
    if (named !== undefined && MAY_NAME[entry.kind]?.includes(named)) return null;
    return `the entry that it is about is not there (${entry.body.entry})`;
  }

  #enrolIfMissing(id: PlantId, before: number): void {
    const known = this.database.get('SELECT 1 AS known FROM plant WHERE id = ?', id);
    if (known !== undefined || !this.#canBe(id)) return;
    this.#brokenAt = Math.max(this.#brokenAt, before - 1);
    const row = this.#plantRows.get(id);
    const bodies = [
      ...(row === undefined ? [] : [fieldsOf(row), keyed(row)]),
      { ...NOTHING_KNOWN, key: `lost ${id}` },
    ];
    for (const fields of bodies) {
      const body = ENTRY_BODIES['plant-enrolled'].safeParse({ number: numberOfId(id), id, ...fields });
      if (!body.success || this.#append(this.#entry('plant-enrolled', body.data)) !== null) continue;
      this.enrolledAnew.push(id);
      return;
    }
  }

  #entry(kind: EntryKind, body: object): Omit<JournalEntry, 'seq' | 'hash'> {
    return { id: newEntryId(), ...this.own, kind, body: JSON.stringify(body) };
  }

  /** @returns why not: what contradicts the entries before it leaves no trace */
  #append({ id, at, by, kind, body }: Omit<JournalEntry, 'seq' | 'hash'>): string | null {
    const seq = this.#last.seq + 1;
    const fields = { seq, id, at, by, kind, body };
    const entry = { ...fields, hash: entryHash(this.#last.hash, fields) };
    this.database.execute('SAVEPOINT entry');
    try {
      insertEntries(this.database, [entry]);
      derive(this.database, [entry]);
    } catch (error) {
      if (error instanceof LedgerError) throw error; // The disk's, not the entry's.
      this.database.execute('ROLLBACK TO entry; RELEASE entry');
      return `it contradicts entries before it (${(error as Error).message})`;
    }
    this.database.execute('RELEASE entry');
    this.#last = entry;
    return null;
  }
}

const NOTHING_KNOWN = {
  kind: 'seedling',
  seedParent: null,
  pollenParent: null,
  sown: null,
  origin: null,
  station: null,
  type: null,
  note: null,
  extra: {},
};

function fieldsOf({ fields }: PlantRow): Record<string, unknown> {
  const { id: _id, extra, ...others } = fields;
  try {
    return { ...others, extra: JSON.parse(extra ?? '') };
  } catch {
    return { ...others, extra: {} };
  }
}

/** Where another plant has its key meanwhile. */
function keyed(row: PlantRow): Record<string, unknown> {
  return { ...fieldsOf(row), key: `${row.fields.key} (${row.id})` };
}

function newer(kind: string): LedgerError {
  return new LedgerError(
    'newer',
    `The ledger holds "${kind}" entries that this Pottag does not know: a newer one wrote them.`,
    'Use the newer Pottag on it; nothing was changed.',
  );
}
