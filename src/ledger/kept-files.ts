/**
 * Files kept in a ledger's folders under the hash of their content, so that none is overwritten by another.
 */
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { writeWhole } from '../files.js';
import { makeFolder } from './folders.js';

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
    makeFolder(join(ledgerFolder, folder));
    writeWhole(target, bytes);
  }
  return { file, sha256 };
}
