/** Design section 10, second row: `scan ID` cold, at a million plants and at a hundred. */
import { join } from 'node:path';
import { idOfNumber } from '../../src/ids/allocation.js';
import { makeBigLedger } from './big-ledger.js';
import { type BenchRow, byTurns, LAUNCHER, runBare } from './measure.js';

export async function benchScan(folder: string): Promise<BenchRow[]> {
  const [big, small] = [join(folder, 'scale-1000000'), join(folder, 'hundred')];
  await makeBigLedger(small, { plants: 100, observationsEach: 5 });
  await makeBigLedger(big, { plants: 1_000_000, observationsEach: 5 });
  const scan = (ledger: string, number: number) =>
    runBare([LAUNCHER, 'scan', idOfNumber(number, 6), '--ledger', ledger]);
  const { bare, million, hundred } = byTurns(25, {
    bare: () => runBare(['-e', '0']),
    million: () => scan(big, 777_777),
    hundred: () => scan(small, 77),
  });
  const row = (what: string, seconds: number): BenchRow => ({
    what,
    measured: `${(seconds / bare.seconds).toFixed(2)} × bare node (${ms(seconds)} : ${ms(bare.seconds)})`,
    bar: '≤ 1.8 ×',
    holds: seconds <= 1.8 * bare.seconds,
  });
  return [
    row('scan ID cold, 1,000,000 plants, 5,000,000 observations', million.seconds),
    row('scan ID cold, 100 plants', hundred.seconds),
  ];
}

function ms(seconds: number): string {
  return `${(seconds * 1000).toFixed(0)} ms`;
}
