/** The photos and printed sheets that entries of a journal name. */
import { existsSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { PHOTOS_FOLDER, SHEETS_FOLDER } from '../folders.js';
import { type JournalEntry, parseEntry } from '../journal.js';
import type { FileWithBytes, NamedFile } from './server.js';

export function* namedFiles(entries: Iterable<JournalEntry>): Generator<NamedFile> {
  for (const stored of entries) {
    const entry = parseEntry(stored);
    if (entry?.kind === 'observed' && entry.body.photo !== null) {
      yield* inFolder(PHOTOS_FOLDER, entry.body.photo);
    }
    if (entry?.kind === 'sheet-printed') yield* inFolder(SHEETS_FOLDER, entry.body);
  }
}

/** None for a name that leads elsewhere: whoever may write on the server must not write anywhere on our machine. */
function inFolder(folder: string, { file, sha256 }: Omit<NamedFile, 'folder'>): NamedFile[] {
  return file === basename(file) ? [{ folder, file, sha256 }] : [];
}

/** Those that are in the ledger's folder, with their bytes, one in memory at a time. */
export function* filesWithBytes(
  ledgerFolder: string,
  entries: Iterable<JournalEntry>,
): Generator<FileWithBytes> {
  for (const named of namedFiles(entries)) {
    const file = join(ledgerFolder, named.folder, named.file);
    if (existsSync(file)) yield { ...named, bytes: readFileSync(file) };
  }
}
