/** The photos that a field copy's own entries name, brought home under their hash. */
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { basename, extname, join } from 'node:path';
import { PHOTOS_FOLDER } from '../ledger/folders.js';
import { type KeptFile, keepFile } from '../ledger/kept-files.js';
import type { Conflict } from './conflicts.js';
import type { FieldEntry } from './read-copy.js';

/**
 * Before their entries: a photo without one does no harm, an entry without its photo does.
 * @returns as `photos` those that are at home now
 */
export function bringPhotos(
  from: string,
  home: string,
  entries: readonly FieldEntry[],
): {
  readonly photos: readonly KeptFile[];
  readonly brought: number;
  readonly conflicts: readonly Conflict[];
} {
  const photos: KeptFile[] = [];
  let brought = 0;
  const conflicts: Conflict[] = [];
  for (const entry of entries) {
    if (entry.kind !== 'observed' || entry.body.photo === null) continue;
    const { file, sha256 } = entry.body.photo;
    if (!existsSync(join(home, PHOTOS_FOLDER, basename(file)))) {
      const bytes = readSound(join(from, PHOTOS_FOLDER, basename(file)), sha256);
      if (bytes === undefined) {
        conflicts.push({ kind: 'photo', entry: entry.id, file });
        continue;
      }
      keepFile(home, PHOTOS_FOLDER, bytes, extname(file).slice(1));
      brought++;
    }
    photos.push({ file, sha256 });
  }
  return { photos, brought, conflicts };
}

/** Undefined if the file is missing or not what its hash says. */
function readSound(file: string, sha256: string): Uint8Array | undefined {
  if (!existsSync(file)) return undefined;
  const bytes = readFileSync(file);
  return createHash('sha256').update(bytes).digest('hex') === sha256 ? bytes : undefined;
}
