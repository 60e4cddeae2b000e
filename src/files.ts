/**
 * Files that a person named: read with words where it fails; written so that they are either whole or not
 * there (beside their target, flushed, then renamed).
 */
import {
  closeSync,
  copyFileSync,
  existsSync,
  fsyncSync,
  openSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { InputError, LedgerError } from './errors.js';

/** The bytes of a file that a person named. @throws InputError if it is not there or cannot be read */
export function readInput(file: string): Uint8Array {
  try {
    return readFileSync(file);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const message = code === 'ENOENT' ? `There is no file ${file}.` : `${file} cannot be read (${code}).`;
    throw new InputError('cannot-read-file', message, 'Name a file that can be read.', {}, [], {
      cause: error,
    });
  }
}

/** A file written beside its target and not yet in its place. */
export interface FileBeside {
  /** Renames it to the target, replacing what was there. */
  putInPlace(): void;
  /** After `putInPlace`: brings back what was there before, or nothing. */
  takeBack(): void;
  /** Clears away whatever was written beside; the target stays as it is. */
  discard(): void;
}

/** @throws InputError if the target's folder cannot be written, LedgerError if the disk is full */
export function writeBeside(named: string, content: Uint8Array | string): FileBeside {
  const target = realTarget(named);
  clearLeftovers(dirname(target));
  const name = join(dirname(target), `${OURS_BESIDE}${process.hrtime.bigint().toString(36)}`);
  const [beside, before] = [`${name}.part`, `${name}.before`];
  let isInPlace = false;
  const bytes = typeof content === 'string' ? Buffer.from(content) : content;
  try {
    writeAndFlush(beside, bytes, existsSync(target) ? statSync(target).mode : undefined);
  } catch (error) {
    if (existsSync(beside)) rmSync(beside);
    throw explainWrite(target, error);
  }
  return {
    putInPlace() {
      try {
        if (existsSync(target)) copyFileSync(target, before);
        renameSync(beside, target);
        isInPlace = true;
        flush(dirname(target));
      } catch (error) {
        throw explainWrite(target, error);
      }
    },
    takeBack() {
      if (!isInPlace) return;
      if (existsSync(before)) renameSync(before, target);
      else rmSync(target, { force: true });
    },
    discard() {
      rmSync(beside, { force: true });
      rmSync(before, { force: true });
    },
  };
}

/** Writes a file in one step that either happens whole or not at all. */
export function writeWhole(target: string, content: Uint8Array | string): void {
  const file = writeBeside(target, content);
  try {
    file.putInPlace();
  } finally {
    file.discard();
  }
}

/** What a link points to. A device or a pipe would be replaced by a file, or waited for without end. */
function realTarget(named: string): string {
  if (named === '') {
    throw new InputError('no-file-name', 'The name of the file to write is empty.', 'Name a file to write.');
  }
  if (!existsSync(named)) return named;
  if (statSync(named).isFile()) return realpathSync(named);
  throw new InputError('cannot-write-file', `${named} is not a file.`, 'Name a file to write.');
}

/** What the names of files and folders made aside begin with: hidden, and whose process they are. */
export const OURS_BESIDE = `.pottag-${process.pid}-`;

/** Names in `folder` that commands left there which were ended in the middle of writing. Nothing needs them. */
export function leftovers(folder: string): string[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder).filter((name) => {
    const pid = /^\.pottag-(\d+)-/.exec(name)?.[1] ?? /^before-format-\d+\.sqlite\.(\d+)$/.exec(name)?.[1];
    return pid !== undefined && !isRunning(Number(pid));
  });
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0); // Sends nothing.
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

/** A folder can be shared with another machine, whose processes are not known here. */
const LEFT_FOR_SURE_MS = 10 * 60_000;
const cleared = new Set<string>();

/** Removes what ended commands left in `folder`, once a process: looking takes long where there are many files. */
export function clearLeftovers(folder: string): void {
  if (cleared.has(folder)) return;
  cleared.add(folder);
  try {
    for (const name of leftovers(folder)) {
      const file = join(folder, name);
      if (Date.now() - statSync(file).mtimeMs > LEFT_FOR_SURE_MS)
        rmSync(file, { recursive: true, force: true });
    }
  } catch {
    // They are in nobody's way.
  }
}

function writeAndFlush(file: string, bytes: Uint8Array, mode: number | undefined): void {
  const descriptor = openSync(file, 'wx', mode);
  try {
    let written = 0;
    while (written < bytes.length) written += writeSync(descriptor, bytes, written);
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}

/**
 * Makes what was written to a file, or renamed in a folder, durable. Windows cannot open folders, nor flush
 * what is open for reading only, and does without.
 */
export function flush(name: string): void {
  if (process.platform === 'win32') return;
  const descriptor = openSync(name, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}

/** A failure to write `target` as one of ours; any other error as it is. */
export function explainWrite(target: string, error: unknown): Error {
  const { code } = error as NodeJS.ErrnoException;
  const options = { cause: error };
  switch (code) {
    case 'ENOSPC':
    case 'EDQUOT':
      return new LedgerError(
        'full',
        `The disk is full: ${target} could not be written.`,
        'Free some space, then run the command again; nothing of it was written.',
        options,
      );
    case 'ENOENT':
    case 'ENOTDIR':
      return new InputError(
        'no-such-folder',
        `There is no folder ${dirname(target)} to write ${basename(target)} in.`,
        'Make the folder first, or name another one.',
        {},
        [],
        options,
      );
    case 'ENAMETOOLONG':
      return new InputError(
        'name-too-long',
        `The name ${basename(target)} is longer than the disk allows.`,
        'Choose a shorter one.',
        {},
        [],
        options,
      );
    case 'EFBIG':
      return new LedgerError(
        'full',
        `The disk takes no file as large as ${target} would be.`,
        'Write it to another disk; nothing of it was written.',
        options,
      );
    case 'EIO':
    case 'ENODEV':
    case 'ENXIO':
      return new LedgerError(
        'unwritable',
        `${target} could not be written (${code}): the disk fails, or was taken out.`,
        'Look whether the disk is connected and sound, or write to another one.',
        options,
      );
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
    case 'EBUSY':
    case 'EISDIR':
      return new InputError(
        'cannot-write-file',
        `${target} cannot be written (${code}).`,
        'Close it if another program has it open, or name another file.',
        {},
        [],
        options,
      );
    default:
      return error as Error;
  }
}
