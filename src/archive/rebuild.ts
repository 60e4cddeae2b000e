/** A damaged ledger's sound part as a ledger in a folder of its own. */
import { dirname, join } from 'node:path';
import { type CheckReport, checkLedger } from '../ledger/check.js';
import { makeFolder } from '../ledger/folders.js';
import { type Salvaged, salvage } from '../ledger/salvage.js';
import { copyFilesBeside } from './contents.js';
import { putInPlace, refuseTaken, withStage } from './stage.js';

export interface Rebuilt extends Salvaged {
  /** Of the new ledger. */
  readonly report: CheckReport;
}

/**
 * Makes a new ledger in `target`, where there must be none, of what can be read in the ledger in `folder`,
 * which stays as it is, with its photos, printed sheets and stocks.
 *
 * @throws InputError if `target` is taken, LedgerError if nothing can be read or a newer Pottag wrote it
 */
export async function rebuildLedger(
  folder: string,
  target: string,
  by: string,
  now: Date,
  onProgress: (done: number, of: number) => void,
): Promise<Rebuilt> {
  refuseTaken(target, '--rebuild');
  makeFolder(dirname(target));
  return withStage(target, async (stage) => {
    const made = join(stage, 'made');
    const salvaged = salvage(folder, made, by, now);
    copyFilesBeside(folder, made);
    const report = checkLedger(made, onProgress);
    const damage = report.findings.find(({ kind }) => kind === 'damage');
    if (damage !== undefined)
      throw new Error(`The rebuilt ledger is unsound: ${damage.where}: ${damage.what}`);
    putInPlace(made, target);
    return { ...salvaged, report };
  });
}
