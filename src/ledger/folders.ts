/**
 * The folders of a ledger, and the notice in it that says what it is.
 */
import { existsSync, mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { LedgerError } from '../errors.js';
import { flush, writeWhole } from '../files.js';

export const PHOTOS_FOLDER = 'photos';
export const SHEETS_FOLDER = 'sheets';
/** A grower's own stock files. */
export const LAYOUTS_FOLDER = 'layouts';
/** Details of faults of Pottag itself. */
export const FAULTS_FOLDER = 'faults';

/** Tells whoever opens the folder what it is, and Pottag that there was a ledger in it. */
export const NOTICE_FILE = 'ABOUT-THIS-FOLDER.txt';
const NOTICE = `This folder is a Pottag ledger: plants, their tags and what was seen on them.
Keep it together. To keep it safe, make copies with "pottag backup FILE", on another disk.
Nothing in it is meant to be edited by hand.
`;

export function writeNotice(ledgerFolder: string): void {
  if (!hasNotice(ledgerFolder)) writeWhole(join(ledgerFolder, NOTICE_FILE), NOTICE);
}

export function hasNotice(ledgerFolder: string): boolean {
  return existsSync(join(ledgerFolder, NOTICE_FILE));
}

/** @throws LedgerError if there cannot be such a folder */
export function makeFolder(folder: string): void {
  try {
    const first = mkdirSync(folder, { recursive: true });
    if (first !== undefined) flush(dirname(first)); // Or a power cut could take the folder with all in it.
  } catch (error) {
    throw new LedgerError(
      'unwritable',
      `The folder ${folder} cannot be made (${(error as NodeJS.ErrnoException).code}).`,
      'Look whether something else has that name, and whether you can write there; or name another ledger with --ledger.',
      { cause: error },
    );
  }
}
