/**
 * A ledger as one file, a gzipped tar (POSIX.1-2001, "pax interchange format"), and back.
 *
 * The database in it is a copy of one moment; photos and printed sheets are never changed once they are
 * there, so what is packed after it holds all that it names.
 */
import { createHash } from 'node:crypto';
import {
  createReadStream,
  existsSync,
  mkdtempSync,
  readdirSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { create, extract, list, type ReadEntry } from 'tar';
import { InputError, LedgerError } from '../errors.js';
import { explainWrite, flush } from '../files.js';
import { type CheckReport, checkLedger } from '../ledger/check.js';
import { LAYOUTS_FOLDER, makeFolder, NOTICE_FILE, PHOTOS_FOLDER, SHEETS_FOLDER } from '../ledger/folders.js';
import { copyDatabase, settleDatabase } from '../ledger/snapshot.js';
import { databaseFile } from '../ledger/sqlite-ledger.js';

const DATABASE_FILE = basename(databaseFile('.'));
const FOLDERS = [PHOTOS_FOLDER, SHEETS_FOLDER, LAYOUTS_FOLDER];

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
  const stage = stageBeside(target);
  try {
    copyDatabase(folder, join(stage, DATABASE_FILE));
    const files = filesOf(folder);
    const packed = join(stage, 'backup.tar.gz');
    await pack(packed, folder, stage, files);
    const expected = [DATABASE_FILE, ...files];
    const missing = without(expected, await namesIn(packed));
    if (missing.length > 0) throw new Error(`${packed} was written without ${missing.join(', ')}`);
    flush(packed);
    const backup = {
      file: target,
      bytes: statSync(packed).size,
      sha256: await hashOf(packed),
      photos: countIn(files, PHOTOS_FOLDER),
      sheets: countIn(files, SHEETS_FOLDER),
    };
    renameSync(packed, target);
    flush(dirname(target));
    return backup;
  } catch (error) {
    throw explainWrite(target, error);
  } finally {
    rmSync(stage, { recursive: true, force: true });
  }
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
  refuseTaken(folder);
  makeFolder(dirname(folder));
  const stage = stageBeside(folder);
  try {
    await unpack(file, stage);
    settleDatabase(stage);
    const report = checkLedger(stage, onProgress);
    const damage = report.findings.find(({ kind }) => kind === 'damage');
    if (damage !== undefined) {
      throw new LedgerError(
        'damaged',
        `The ledger in ${file} is damaged (${damage.where}: ${damage.what}).`,
        'Restore another backup. Nothing was put in place.',
      );
    }
    if (existsSync(folder)) rmdirSync(folder);
    renameSync(stage, folder);
    flush(dirname(folder));
    return report;
  } catch (error) {
    throw explainWrite(folder, error);
  } finally {
    rmSync(stage, { recursive: true, force: true });
  }
}

/** A folder on the same disk as `target`, so that what is made in it can be renamed into place. */
function stageBeside(target: string): string {
  try {
    return mkdtempSync(join(resolve(dirname(target)), '.pottag-'));
  } catch (error) {
    throw explainWrite(target, error);
  }
}

/** What belongs to a ledger beside its database, as names from its folder. */
function filesOf(folder: string): string[] {
  const inFolders = FOLDERS.filter((name) => existsSync(join(folder, name))).flatMap((name) =>
    readdirSync(join(folder, name), { withFileTypes: true })
      .filter((entry) => entry.isFile() && !entry.name.startsWith('.'))
      .map((entry) => `${name}/${entry.name}`)
      .sort(),
  );
  return existsSync(join(folder, NOTICE_FILE)) ? [NOTICE_FILE, ...inFolders] : inFolders;
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

function refuseTaken(folder: string): void {
  if (!existsSync(folder)) return;
  if (statSync(folder).isDirectory() && readdirSync(folder).length === 0) return;
  throw new InputError(
    'folder-taken',
    `There is something in ${folder} already.`,
    'Name a new folder with --ledger, or move that one aside. Nothing was changed.',
  );
}

function without(names: readonly string[], known: ReadonlySet<string>): string[] {
  return names.filter((name) => !known.has(name));
}

function countIn(files: readonly string[], folder: string): number {
  return files.filter((name) => dirname(name) === folder).length;
}

async function hashOf(file: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(file)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}
