/**
 * The folders of a ledger, and files kept in them under the hash of their content, so that a file is
 * never overwritten by another.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { writeWhole } from '../files.js';

export const PHOTOS_FOLDER = 'photos';
export const SHEETS_FOLDER = 'sheets';
/** A grower's own stock files. */
export const LAYOUTS_FOLDER = 'layouts';
/** Details of faults of Pottag itself. */
export const FAULTS_FOLDER = 'faults';

export interface KeptFile {
  readonly file: string;
  readonly sha256: string;
}

/** Keeps `bytes` in one of the ledger's folders; keeping the same bytes twice keeps them once. */
export function keepFile(
  ledgerFolder: string,
  folder: string,
  bytes: Uint8Array,
  extension: string,
): KeptFile {
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const file = `${sha256.slice(0, 16)}.${extension}`;
  const target = join(ledgerFolder, folder, file);
  if (!existsSync(target)) {
    mkdirSync(join(ledgerFolder, folder), { recursive: true });
    writeWhole(target, bytes);
  }
  return { file, sha256 };
}
