/**
 * SQLite's write-ahead file, as it lies on the disk when a command was ended or another one is writing.
 *
 * SQLite takes what is in it up to the first frame whose checksum is wrong and drops the rest, as a power
 * cut may have left half a write there, which nobody was told had succeeded. Damage looks alike to it; so
 * what would be dropped is counted here before SQLite opens the file.
 *
 * Source: sqlite.org/fileformat2.html, section 4, "The Write-Ahead Log".
 */
import { existsSync, readFileSync } from 'node:fs';

/** Every ledger has SQLite's default. */
export const PAGE_BYTES = 4096;

const HEADER_BYTES = 32;
const FRAME_HEADER_BYTES = 24;
const FRAME_BYTES = FRAME_HEADER_BYTES + PAGE_BYTES;

/** A page as one write left it. */
export interface Frame {
  readonly page: number;
  readonly bytes: Buffer;
  /** Whether it ends a transaction. */
  readonly isCommit: boolean;
  /** Whether SQLite takes it: this frame and all before it are as they were written. */
  readonly isSound: boolean;
}

/** The frames written since the file was last begun anew, up to the last that ends a transaction. */
export function committedFrames(walFile: string): Frame[] {
  if (!existsSync(walFile)) return [];
  const wal = readFileSync(walFile);
  if (wal.length < HEADER_BYTES + FRAME_BYTES) return [];
  const isBigEndian = (wal.readUInt32BE(0) & 1) === 1;
  let sum = checksum(wal.subarray(0, 24), isBigEndian, [0, 0]);
  let isSound = sum[0] === wal.readUInt32BE(24) && sum[1] === wal.readUInt32BE(28);
  // Drawn anew each time the file is begun anew; where the header is damaged the first frame has them too.
  const salts = isSound ? wal.subarray(16, 24) : wal.subarray(HEADER_BYTES + 8, HEADER_BYTES + 16);
  const frames: Frame[] = [];
  for (let at = HEADER_BYTES; at + FRAME_BYTES <= wal.length; at += FRAME_BYTES) {
    const header = wal.subarray(at, at + FRAME_HEADER_BYTES);
    const bytes = wal.subarray(at + FRAME_HEADER_BYTES, at + FRAME_BYTES);
    const isOfNow = salts.equals(header.subarray(8, 16));
    if (isSound) {
      sum = checksum(bytes, isBigEndian, checksum(header.subarray(0, 8), isBigEndian, sum));
      isSound = isOfNow && sum[0] === header.readUInt32BE(16) && sum[1] === header.readUInt32BE(20);
    }
    const isCommit = isOfNow && header.readUInt32BE(4) > 0;
    frames.push({ page: header.readUInt32BE(0), bytes, isCommit, isSound });
  }
  return frames.slice(0, frames.findLastIndex(({ isCommit }) => isCommit) + 1);
}

/** How many transactions SQLite would drop. One may be a write that a power cut ended; more are damage. */
export function droppedCommits(walFile: string): number {
  const dropped = () =>
    committedFrames(walFile).filter(({ isCommit, isSound }) => isCommit && !isSound).length;
  // A command that writes meanwhile can be caught in the middle; damage stays.
  return Math.min(dropped(), dropped());
}

function checksum(bytes: Buffer, isBigEndian: boolean, before: readonly [number, number]): [number, number] {
  let [a, b] = before;
  for (let at = 0; at < bytes.length; at += 8) {
    a = (a + (isBigEndian ? bytes.readUInt32BE(at) : bytes.readUInt32LE(at)) + b) >>> 0;
    b = (b + (isBigEndian ? bytes.readUInt32BE(at + 4) : bytes.readUInt32LE(at + 4)) + a) >>> 0;
  }
  return [a, b];
}
