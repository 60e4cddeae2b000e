/**
 * The journal: append-only entries, each hashed together with the one before it, so that a changed,
 * missing or reordered entry shows.
 */
import { hash, randomFillSync } from 'node:crypto';
import { v7 as timeOrderedUuid } from 'uuid';
import type { Database } from './database.js';
import { derive } from './derive.js';
import { ENTRY_BODIES, type NewEntry } from './entries.js';
import { fieldCopyOf, refuseInField } from './field-copy.js';
import type { FieldCopy, Recorded } from './ledger.js';
import { stretches } from './stretches.js';

/** An entry as it stands in the journal. `body` is JSON text: what was hashed, byte for byte. */
export interface JournalEntry {
  readonly seq: number;
  /** UUID version 7 (RFC 9562): sorts by time across ledgers. */
  readonly id: string;
  readonly at: string;
  readonly by: string;
  readonly kind: string;
  readonly body: string;
  readonly hash: Uint8Array;
}

/** The hash before the first entry. */
export const NO_HASH = new Uint8Array(32);

interface JournalRow extends Omit<JournalEntry, 'id' | 'hash'> {
  readonly id: ArrayBuffer;
  readonly hash: ArrayBuffer;
}

/** What is hashed, put together here each time: a new place for every entry takes as long as the hashing. */
let scratch = Buffer.allocUnsafe(4096);

/** SHA-256 over the hash before and every field of the entry. */
export function entryHash(before: Uint8Array, entry: Omit<JournalEntry, 'hash'>): Buffer {
  const fields = JSON.stringify([entry.seq, entry.id, entry.at, entry.by, entry.kind, entry.body]);
  const mostBytes = before.length + 3 * fields.length;
  if (mostBytes > scratch.length) scratch = Buffer.allocUnsafe(2 * mostBytes);
  scratch.set(before);
  const end = before.length + scratch.write(fields, before.length);
  return Buffer.from(hash('sha256', scratch.subarray(0, end), 'binary'), 'binary');
}

/** So many entries are derived from at once: one by one, the statements would take longer than all else. */
const BATCH = 1000;

/**
 * Appends entries within one transaction, which the caller has begun. They are in the tables after
 * `flush`, which must come before anything is read and before the transaction is committed.
 */
export class JournalWriter {
  #last: LastEntry;
  #pending: JournalEntry[] = [];
  readonly #fieldCopy: FieldCopy | undefined;

  constructor(
    private readonly database: Database,
    private readonly at: string,
    private readonly by: string,
  ) {
    const last = lastEntry(database);
    this.#last = last;
    this.#fieldCopy = last.isFieldCopy ? fieldCopyOf(database) : undefined;
  }

  /**
   * Checks the body and adds the entry; throws if the body is not of its kind's shape.
   * @param id a time-ordered UUID that the caller made; by default a new one
   * @param recorded when and by whom, where it was recorded in a field copy
   * @throws InputError if this is a field copy and the entry is for the ledger at home to make
   */
  append(entry: NewEntry, id = newEntryId(), recorded?: Pick<Recorded, 'at' | 'by'>): Recorded {
    if (this.#fieldCopy !== undefined) {
      this.flush(); // What it names may be among them.
      refuseInField(this.database, this.#fieldCopy, entry);
    }
    const { at, by } = recorded ?? { at: this.at, by: this.by };
    const body = JSON.stringify(ENTRY_BODIES[entry.kind].parse(entry.body));
    const seq = this.#last.seq + 1;
    const hash = entryHash(this.#last.hash, { seq, id, at, by, kind: entry.kind, body });
    const whole = { seq, id, at, by, kind: entry.kind, body, hash };
    this.#pending.push(whole);
    this.#last = whole;
    if (this.#pending.length === BATCH) this.flush();
    return { number: seq, id, at, by };
  }

  flush(): void {
    if (this.#pending.length === 0) return;
    const entries = this.#pending;
    this.#pending = [];
    insertEntries(this.database, entries);
    derive(this.database, entries);
  }
}

/** Writes entries as they are, without looking at them. */
export function insertEntries(database: Database, entries: readonly JournalEntry[]): void {
  const areAlike = (a: JournalEntry, b: JournalEntry) => a.kind === b.kind && a.at === b.at && a.by === b.by;
  for (const stretch of stretches(entries, areAlike)) {
    if (stretch.length < WORTH_PACKING) for (const entry of stretch) insertOne(database, entry);
    else insertAlike(database, stretch);
  }
}

function insertOne(database: Database, { seq, id, at, by, kind, body, hash }: JournalEntry): void {
  const sql = `INSERT INTO journal (seq, id, at, by, kind, body, hash)
    VALUES (?, unhex(replace(?, '-', '')), ?, ?, ?, ?, ?)`;
  database.run(sql, seq, id, at, by, kind, body, hash);
}

/** Handing values over one by one takes longer than all that SQLite does with them; a single entry is sooner written so. */
const WORTH_PACKING = 8;

/** Writes entries of one kind, time and author, one after the other, with a single statement. */
function insertAlike(database: Database, entries: readonly [JournalEntry, ...JournalEntry[]]): void {
  const sql = `INSERT INTO journal (seq, id, at, by, kind, body, hash)
    SELECT ?1 + key, substr(?6, 1 + 48 * key, 16), ?2, ?3, ?4, value, substr(?6, 17 + 48 * key, 32)
    FROM json_each(?5)`;
  const bodies = JSON.stringify(entries.map(({ body }) => body));
  const idsAndHashes = Buffer.allocUnsafe(48 * entries.length);
  for (const [index, { id, hash }] of entries.entries()) {
    idsAndHashes.write(id.replaceAll('-', ''), 48 * index, 'hex');
    idsAndHashes.set(hash, 48 * index + 16);
  }
  const [{ seq, at, by, kind }] = entries;
  database.run(sql, seq, at, by, kind, bodies, idsAndHashes);
}

/** Random bytes are asked of the system for many IDs at once: one by one they take longer than SQLite. */
const randomPool = new Uint8Array(4096);
let randomTaken = randomPool.length;

function freshRandom(): Uint8Array {
  if (randomTaken === randomPool.length) {
    randomFillSync(randomPool);
    randomTaken = 0;
  }
  randomTaken += 16;
  return randomPool.slice(randomTaken - 16, randomTaken);
}

export function newEntryId(): string {
  return timeOrderedUuid({ random: freshRandom() });
}

export function uuidOfBytes(bytes: Uint8Array): string {
  return Buffer.from(bytes)
    .toString('hex')
    .replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}

/** All entries after the one of the number `after`, in order. */
export function* journalEntries(database: Database, after = 0): Generator<JournalEntry> {
  const rows = database.iterate<JournalRow>(
    'SELECT seq, id, at, by, kind, body, hash FROM journal WHERE seq > ? ORDER BY seq',
    after,
  );
  for (const row of rows) {
    yield { ...row, id: uuidOfBytes(new Uint8Array(row.id)), hash: new Uint8Array(row.hash) };
  }
}

/** As much of an entry as the next one follows from. */
export type LastEntry = Pick<JournalEntry, 'seq' | 'hash'>;

/** Of a ledger still without entries, what the first one follows from. Asked at one go, since every append asks both. */
export function lastEntry(database: Database): LastEntry & { readonly isFieldCopy: boolean } {
  const sql = `SELECT seq, hash, EXISTS (SELECT 1 FROM copied) AS isFieldCopy
    FROM journal ORDER BY seq DESC LIMIT 1`;
  const last = database.get<LastEntry & { isFieldCopy: 0 | 1 }>(sql);
  if (last === undefined) return { seq: 0, hash: NO_HASH, isFieldCopy: false };
  return { ...last, isFieldCopy: last.isFieldCopy === 1 };
}

/** Whether an entry's hash is the one that follows from the entry before it. */
export function followsFrom(before: LastEntry | undefined, entry: JournalEntry): boolean {
  const inOrder = entry.seq === (before?.seq ?? 0) + 1;
  return inOrder && Buffer.from(entryHash(before?.hash ?? NO_HASH, entry)).equals(entry.hash);
}

/** The entry's body, checked against its kind; undefined if the kind or the body is not known. */
export function parseEntry(entry: JournalEntry): NewEntry | undefined {
  if (!Object.hasOwn(ENTRY_BODIES, entry.kind)) return undefined;
  const schema = ENTRY_BODIES[entry.kind as keyof typeof ENTRY_BODIES];
  const parsed = schema.safeParse(parseBody(entry.body));
  return parsed.success ? ({ kind: entry.kind, body: parsed.data } as NewEntry) : undefined;
}

/** Undefined for text that is not JSON, as damage can leave it. */
function parseBody(body: string): unknown {
  try {
    return JSON.parse(body);
  } catch {
    return undefined;
  }
}
