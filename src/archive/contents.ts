/** What a ledger's folder holds beside its database. */
import { copyFileSync, existsSync, mkdirSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { LAYOUTS_FOLDER, PHOTOS_FOLDER, SHEETS_FOLDER } from '../ledger/folders.js';

export const FOLDERS: readonly string[] = [PHOTOS_FOLDER, SHEETS_FOLDER, LAYOUTS_FOLDER];

/** Photos, printed sheets and the grower's own stocks, as names from the folder: `photos/1a2b.jpg`. */
export function filesBeside(folder: string): string[] {
  return FOLDERS.filter((name) => existsSync(join(folder, name))).flatMap((name) =>
    readdirSync(join(folder, name), { withFileTypes: true })
      .filter((entry) => entry.isFile() && !entry.name.startsWith('.'))
      .map((entry) => `${name}/${entry.name}`)
      .sort(),
  );
}

export function copyFilesBeside(from: string, to: string): void {
  for (const name of filesBeside(from)) {
    mkdirSync(dirname(join(to, name)), { recursive: true });
    copyFileSync(join(from, name), join(to, name));
  }
}
