/**
 * A ledger as one file, a gzipped tar (POSIX.1-2001, "pax interchange format"), and back.
 *
 * The database in it is a copy of one moment; photos and printed sheets are never changed once they are
 * there, so what is packed after it holds all that it names.
 */
import { existsSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { create, extract, list, type ReadEntry } from 'tar';
import { InputError } from '../errors.js';
import type { CheckReport } from '../ledger/check.js';
import { makeFolder, NOTICE_FILE, PHOTOS_FOLDER, SHEETS_FOLDER } from '../ledger/folders.js';
import { copyDatabase, settleDatabase } from '../ledger/snapshot.js';
import { databaseFile } from '../ledger/sqlite-ledger.js';
import { FOLDERS, filesBeside } from './contents.js';
import { sha256Of } from './data-package.js';
import { refuseDamaged } from './sound.js';
import { putInPlace, refuseTaken, withStage } from './stage.js';

const DATABASE_FILE = basename(databaseFile('.'));

export interface Backup {
  readonly file: string;
  readonly bytes: number;
  /** Of the whole file, to compare copies by. */
  readonly sha256: string;
  readonly photos: number;
  readonly sheets: number;
}

/**
 * Packs the ledger in `folder` into `target`, replacing what was there only when the new one is whole and
 * has been read back.
 *
 * @throws InputError if `target` cannot be written, LedgerError if the ledger cannot be used or the disk is full
 */
export async function backUp(folder: string, target: string): Promise<Backup> {
  return withStage(target, async (stage) => {
    copyDatabase(folder, stage);
    const notice = existsSync(join(folder, NOTICE_FILE)) ? [NOTICE_FILE] : [];
    const files = [...notice, ...filesBeside(folder)];
    const packed = join(stage, 'backup.tar.gz');
    await pack(packed, folder, stage, files);
    const inside = await namesIn(packed);
    const missing = [DATABASE_FILE, ...files].filter((name) => !inside.has(name));
    if (missing.length > 0) throw new Error(`${packed} was written without ${missing.join(', ')}`);
    const backup = {
      file: target,
      bytes: statSync(packed).size,
      sha256: await sha256Of(packed),
      photos: countIn(files, PHOTOS_FOLDER),
      sheets: countIn(files, SHEETS_FOLDER),
    };
    putInPlace(packed, target);
    return backup;
  });
}

/**
 * Unpacks the backup `file` as the ledger in `folder`, where there must be none, and checks it. It is
 * put in place if at most photos or sheets are wrong with it.
 *
 * @throws InputError if `file` is no whole backup or `folder` is taken; LedgerError if the ledger in it is
 *   damaged or the disk is full; nothing is left behind then
 */
export async function restore(
  file: string,
  folder: string,
  onProgress: (done: number, of: number) => void,
): Promise<CheckReport> {
  refuseTaken(folder, '--ledger');
  makeFolder(dirname(folder));
  return withStage(folder, async (stage) => {
    await unpack(file, stage);
    settleDatabase(stage);
    const hint = 'Restore another backup. Nothing was put in place.';
    const report = refuseDamaged(stage, onProgress, `The ledger in ${file} is damaged`, hint);
    putInPlace(stage, folder);
    return report;
  });
}

async function pack(packed: string, folder: string, stage: string, files: readonly string[]): Promise<void> {
  const snapshot = join(stage, DATABASE_FILE);
  await create(
    {
      file: packed,
      cwd: folder,
      gzip: true,
      portable: true,
      preservePaths: true,
      strict: true,
      onWriteEntry(entry) {
        if (entry.path === snapshot) entry.path = DATABASE_FILE;
      },
    },
    [snapshot, ...files],
  );
}

/** Reads the whole of it, so that a copy that cannot be read is found now. */
async function namesIn(packed: string): Promise<Set<string>> {
  const names = new Set<string>();
  await list({ file: packed, strict: true, onReadEntry: ({ path }) => names.add(path) });
  return names;
}

/** No name in a backup leads out of its folder, and none is of a kind that could. */
function belongs({ path: name, type }: ReadEntry): boolean {
  const [folder = '', file, ...deeper] = name.split('/');
  if (type !== 'File' || name.includes('\\') || deeper.length > 0) return false;
  if (file === undefined) return name === DATABASE_FILE || name === NOTICE_FILE;
  return FOLDERS.includes(folder) && file !== '' && !file.startsWith('.');
}

async function unpack(file: string, stage: string): Promise<void> {
  if (!existsSync(file) || !statSync(file).isFile()) {
    throw new InputError('cannot-read-file', `There is no file ${file}.`, 'Name a backup.');
  }
  const strange: string[] = [];
  try {
    await extract({
      file,
      cwd: stage,
      strict: true,
      preserveOwner: false,
      filter: (_path, entry) => {
        const isOurs = belongs(entry as ReadEntry);
        if (!isOurs) strange.push((entry as ReadEntry).path);
        return isOurs;
      },
    });
  } catch (error) {
    if (isOfDisk(error)) throw error;
    throw new InputError(
      'damaged-backup',
      `${file} cannot be read to its end (${(error as Error).message}): it is damaged, cut short, or no backup.`,
      'Name another backup. Nothing was put in place.',
      { file },
      [],
      { cause: error },
    );
  }
  if (!existsSync(join(stage, DATABASE_FILE)) || strange.length > 0) {
    const why = strange.length > 0 ? `it holds ${strange[0]}` : 'it holds no ledger';
    throw new InputError(
      'no-backup',
      `${file} is no backup of a ledger: ${why}.`,
      'Name a file that pottag backup made.',
      {
        file,
      },
    );
  }
}

/** Errors of the disk that is written to, not of the archive. */
function isOfDisk(error: unknown): boolean {
  return ['ENOSPC', 'EDQUOT', 'EACCES', 'EROFS', 'EIO'].includes((error as NodeJS.ErrnoException).code ?? '');
}

function countIn(files: readonly string[], folder: string): number {
  return files.filter((name) => dirname(name) === folder).length;
}
