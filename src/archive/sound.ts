/** Whether what was copied, or is to be merged, is a sound ledger. */
import { LedgerError } from '../errors.js';
import { type CheckReport, checkLedger } from '../ledger/check.js';

/**
 * Checks the ledger in `folder`; photos and sheets may be missing.
 * @param wrong what to say of a damaged one, to which the first damage is added: `The ledger in FILE is damaged`
 * @throws LedgerError `damaged`
 */
export function refuseDamaged(
  folder: string,
  onProgress: (done: number, of: number) => void,
  wrong: string,
  hint: string,
): CheckReport {
  const report = checkLedger(folder, onProgress);
  const damage = report.findings.find(({ kind }) => kind === 'damage');
  if (damage === undefined) return report;
  throw new LedgerError('damaged', `${wrong} (${damage.where}: ${damage.what}).`, hint);
}
