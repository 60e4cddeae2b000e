/**
 * What grows with the ledger and what does not: each command at a thousand plants and at a million, with five
 * observations on each, as whole processes. `npm run bench:scale`; the ledgers are kept and used again, so what
 * is written in them (one observation a run) adds up.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { columns } from '../../src/cli/console.js';
import { idOfNumber } from '../../src/ids/allocation.js';
import { makeBigLedger } from './big-ledger.js';
import { LAUNCHER, type Measured, median, runNode } from './measure.js';

const SIZES = [1000, 1_000_000] as const;
const BENCH = 4;
const PLANTS_A_BENCH = 100;

/** The walk of one bench on which nothing has moved. */
function walkOfBench(): string {
  const rows = Array.from({ length: PLANTS_A_BENCH }, (_, index) => {
    const number = (BENCH - 1) * PLANTS_A_BENCH + index + 1;
    return `bench ${BENCH} / ${number % PLANTS_A_BENCH},${idOfNumber(number, 6)}`;
  });
  return `station,scanned\n${rows.join('\n')}\n`;
}

/** Name → arguments, how often it is run, and what it ends with: a ledger in which nobody walked yet has nothing wrong. */
function commands(scratch: string, walk: string, plants: number) {
  const id = idOfNumber(Math.floor(0.777 * plants), 6);
  return [
    { name: 'scan one', args: ['scan', id], rounds: 5 },
    { name: 'show one', args: ['show', id], rounds: 5 },
    { name: 'record one', args: ['scan', id, '--brix', '17'], rounds: 5 },
    { name: 'walk of 100 stations', args: ['walk', walk], rounds: 3 },
    { name: 'crosses', args: ['crosses'], rounds: 1 },
    { name: 'picks', args: ['picks'], rounds: 1 },
    { name: 'check', args: ['check'], rounds: 1 },
    { name: 'backup', args: ['backup', join(scratch, 'backup.tar.gz')], rounds: 1 },
  ] as const;
}

async function main(): Promise<void> {
  const folder = join(tmpdir(), 'pottag-bench');
  const scratch = mkdtempSync(join(tmpdir(), 'pottag-scale-'));
  const walk = join(scratch, 'walk.csv');
  writeFileSync(walk, walkOfBench());
  const measured = new Map<string, Measured[]>();
  try {
    for (const plants of SIZES) {
      const ledger = join(folder, `scale-${plants}`);
      await makeBigLedger(ledger, { plants, observationsEach: 5 });
      for (const { name, args, rounds } of commands(scratch, walk, plants)) {
        const runs = Array.from({ length: rounds }, () => runNode([LAUNCHER, ...args, '--ledger', ledger]));
        const seconds = median(runs.map((run) => run.seconds));
        const peakMb = median(runs.map((run) => run.peakMb));
        measured.set(name, [...(measured.get(name) ?? []), { seconds, peakMb }]);
        console.error(`${name}, ${plants} plants: ${seconds.toFixed(2)} s, ${peakMb.toFixed(0)} MB`);
      }
    }
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
  const rows = [...measured].map(([name, [small, big]]) => [
    name,
    ...[small, big].flatMap((run) => [`${run?.seconds.toFixed(2)} s`, `${run?.peakMb.toFixed(0)} MB`]),
    `${((big?.seconds ?? 0) / (small?.seconds ?? 1)).toFixed(1)} ×`,
  ]);
  console.log(columns([['', '1,000 plants', '', '1,000,000 plants', '', 'growth'], ...rows]));
}

await main();
