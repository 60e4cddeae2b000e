/** Files and folders made aside, so that what a person named is either whole or not there. */
import { existsSync, mkdtempSync, readdirSync, renameSync, rmdirSync, rmSync, statSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { InputError } from '../errors.js';
import { clearLeftovers, explainWrite, flush, OURS_BESIDE } from '../files.js';

/**
 * Runs `work` with a fresh folder on the same disk as `target`, which is gone afterwards unless `work`
 * renamed it.
 * @throws InputError or LedgerError where the disk is the reason; what `work` throws
 */
export async function withStage<T>(target: string, work: (stage: string) => Promise<T>): Promise<T> {
  let stage: string | undefined;
  try {
    const beside = resolve(dirname(target));
    clearLeftovers(beside);
    stage = mkdtempSync(join(beside, OURS_BESIDE));
    return await work(stage);
  } catch (error) {
    throw explainWrite(target, error);
  } finally {
    if (stage !== undefined) rmSync(stage, { recursive: true, force: true });
  }
}

/** Renames a finished file or folder to `target`, durably. It replaces a file, or an empty folder. */
export function putInPlace(finished: string, target: string): void {
  flushAll(finished);
  if (existsSync(target) && statSync(finished).isDirectory()) rmdirSync(target);
  renameSync(finished, target);
  flush(dirname(resolve(target)));
}

/** @throws InputError if there is anything but an empty folder at `folder` */
export function refuseTaken(folder: string, option: string): void {
  if (!existsSync(folder)) return;
  if (statSync(folder).isDirectory() && readdirSync(folder).length === 0) return;
  throw new InputError(
    'folder-taken',
    `There is something in ${folder} already.`,
    `Name a new folder with ${option}, or move that one aside. Nothing was changed.`,
  );
}

/** Before the rename: after a power cut, what is in place must be whole. */
function flushAll(name: string): void {
  if (statSync(name).isDirectory()) for (const inside of readdirSync(name)) flushAll(join(name, inside));
  flush(name);
}
