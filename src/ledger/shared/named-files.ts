/** The photos and printed sheets that entries of a journal name. */
import { existsSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { PHOTOS_FOLDER, SHEETS_FOLDER } from '../folders.js';
import { type JournalEntry, parseEntry } from '../journal.js';
import type { KeptFile } from '../kept-files.js';
import type { FileWithBytes, NamedFile } from './server.js';

export function* namedFiles(entries: Iterable<JournalEntry>): Generator<NamedFile> {
  for (const stored of entries) {
    const entry = parseEntry(stored);
    if (entry?.kind === 'observed' && entry.body.photo !== null) yield asPhoto(entry.body.photo);
    if (entry?.kind === 'sheet-printed') {
      const { file, sha256 } = entry.body;
      yield { folder: SHEETS_FOLDER, file, sha256 };
    }
  }
}

export function asPhoto({ file, sha256 }: KeptFile): NamedFile {
  return { folder: PHOTOS_FOLDER, file, sha256 };
}

/**
 * Where it is in the ledger's folder. Undefined for a name that leads elsewhere: whoever may write on the server must not
 * write anywhere on our machine.
 */
export function placeOf({ folder, file }: NamedFile, ledgerFolder: string): string | undefined {
  const isInside = [PHOTOS_FOLDER, SHEETS_FOLDER].includes(folder) && file === basename(file);
  return isInside ? join(ledgerFolder, folder, file) : undefined;
}

/** Those that are in the ledger's folder, with their bytes, one in memory at a time. */
export function* withBytes(ledgerFolder: string, files: Iterable<NamedFile>): Generator<FileWithBytes> {
  for (const named of files) {
    const place = placeOf(named, ledgerFolder);
    if (place !== undefined && existsSync(place)) yield { ...named, bytes: readFileSync(place) };
  }
}
