/**
 * Rows read straight from the pages of a ledger's database file, for a file that SQLite itself cannot read
 * or cannot read whole. Nothing is believed of a page but the bytes of its rows: not its kind, its number
 * of rows, nor the tree that it hangs in. So a page that survives gives its rows whatever became of others.
 *
 * The journal is append-only, so older versions of a page, in the write-ahead file or in space that was
 * given up, hold nothing but rows that newer ones hold too.
 *
 * Source: sqlite.org/fileformat2.html, sections 1.6, "B-tree Pages", and 2.1, "Record Format".
 */
import { isUtf8 } from 'node:buffer';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { committedFrames, PAGE_BYTES } from './wal.js';

export type Cell = string | number | null | Buffer;

/** A row of a table with an integer key; `cells` has null in the key's place. */
export interface StoredRow {
  readonly key: number;
  readonly cells: readonly Cell[];
}

/** All rows of all tables that can still be read, in no order, some of them several times. */
export function* rowsOf(databaseFile: string): Generator<StoredRow> {
  // The write-ahead file first: what another command moves from there meanwhile is then met in both.
  const written = committedFrames(`${databaseFile}-wal`);
  const latest = new Map(written.map(({ page, bytes }) => [page, bytes]));
  const descriptor = openSync(databaseFile, 'r');
  try {
    const pageCount = Math.ceil(fstatSync(descriptor).size / PAGE_BYTES);
    const stored = (page: number) => readPage(descriptor, page);
    const current = (page: number) => latest.get(page) ?? stored(page);
    for (let page = 1; page <= pageCount; page++) yield* rowsIn(stored(page), current);
    for (const { bytes } of written) yield* rowsIn(bytes, current);
  } finally {
    closeSync(descriptor);
  }
}

/** Pages count from 1. What lies beyond the end of the file is zeros. */
function readPage(descriptor: number, page: number): Buffer {
  const bytes = Buffer.alloc(PAGE_BYTES);
  readSync(descriptor, bytes, 0, PAGE_BYTES, (page - 1) * PAGE_BYTES);
  return bytes;
}

type ReadPage = (page: number) => Buffer;

const LEAF_HEADER_BYTES = 8;

/** The pointers to a leaf's rows follow its header, up to where the first row lies. */
function* rowsIn(page: Buffer, pageAt: ReadPage): Generator<StoredRow> {
  let end = PAGE_BYTES;
  for (let at = LEAF_HEADER_BYTES; at + 2 <= end; at += 2) {
    const start = page.readUInt16BE(at);
    if (start < LEAF_HEADER_BYTES || start > PAGE_BYTES - 4) continue;
    const row = rowAt(page, start, pageAt);
    if (row === undefined) continue;
    end = Math.min(end, start);
    yield row;
  }
}

function rowAt(page: Buffer, start: number, pageAt: ReadPage): StoredRow | undefined {
  const length = varint(page, start);
  const key = length && varint(page, length.end);
  if (key === undefined || length === undefined || length.value > MOST_ROW_BYTES) return undefined;
  // Not all beginnings of a record: every table looked for has its integer key first, stored as null.
  if (page[key.end + 1] !== 0) return undefined;
  const payload = payloadAt(page, key.end, length.value, pageAt);
  const cells = payload && cellsOf(payload);
  return cells && { key: key.value, cells };
}

/** No row of ours comes near it. */
const MOST_ROW_BYTES = 1 << 26;

/** What a page has no room for goes on in a chain of others. */
function payloadAt(page: Buffer, start: number, length: number, pageAt: ReadPage): Buffer | undefined {
  const most = PAGE_BYTES - 35;
  const least = Math.floor(((PAGE_BYTES - 12) * 32) / 255) - 23;
  const fitting = least + ((length - least) % (PAGE_BYTES - 4));
  const local = length <= most ? length : fitting <= most ? fitting : least;
  if (start + local > PAGE_BYTES) return undefined;
  const parts = [page.subarray(start, start + local)];
  let missing = length - local;
  if (missing > 0 && start + local + 4 > PAGE_BYTES) return undefined;
  let next = missing > 0 ? page.readUInt32BE(start + local) : 0;
  while (missing > 0) {
    if (next === 0) return undefined;
    const more = pageAt(next);
    const part = more.subarray(4, Math.min(4 + missing, PAGE_BYTES));
    parts.push(part);
    missing -= part.length;
    next = more.readUInt32BE(0);
  }
  return Buffer.concat(parts);
}

/** @returns undefined for what is no record, or one whose text is not UTF-8 */
function cellsOf(payload: Buffer): Cell[] | undefined {
  const header = varint(payload, 0);
  if (header === undefined || header.value > payload.length) return undefined;
  const cells: Cell[] = [];
  let body = header.value;
  for (let at = header.end; at < header.value; ) {
    const type = varint(payload, at);
    if (type === undefined) return undefined;
    at = type.end;
    const length = INTEGER_BYTES[type.value] ?? Math.floor((type.value - 12) / 2);
    if (length < 0 || body + length > payload.length) return undefined;
    const bytes = payload.subarray(body, body + length);
    if (type.value === 0) cells.push(null);
    else if (type.value <= 9) cells.push(integer(bytes, type.value));
    else if (type.value % 2 === 0) cells.push(bytes);
    else if (isUtf8(bytes)) cells.push(bytes.toString());
    else return undefined;
    body += length;
  }
  return body === payload.length ? cells : undefined;
}

/** By the number of their type; 8 and 9 are the numbers 0 and 1 themselves. No table here holds type 7, reals. */
const INTEGER_BYTES = [0, 1, 2, 3, 4, 6, 8, -1, 0, 0, -1, -1];

function integer(bytes: Buffer, type: number): number {
  if (type >= 8) return type - 8;
  return bytes.length === 8 ? Number(bytes.readBigInt64BE()) : bytes.readIntBE(0, bytes.length);
}

/** Seven bits a byte, most significant first; the ninth byte counts whole. Keys and lengths here need no more. */
function varint(bytes: Buffer, start: number): { value: number; end: number } | undefined {
  let value = 0;
  for (let at = start; at < start + 7; at++) {
    const byte = bytes[at];
    if (byte === undefined) return undefined;
    value = value * 128 + (byte & 0x7f);
    if (byte < 128) return { value, end: at + 1 };
  }
  return undefined;
}
