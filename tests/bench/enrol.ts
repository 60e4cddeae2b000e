/** Design section 10: enrolling 100,000 rows into a new ledger beside reading the file and parsing the CSV alone, whole processes. */
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type BenchRow, byTurns, LAUNCHER, runBare } from './measure.js';

const ROWS = 100_000;
const PARSE_ALONE = `
  const { parse } = require('csv-parse/sync');
  const rows = parse(require('node:fs').readFileSync(process.argv[1], 'utf8'));
  if (rows.length !== ${ROWS + 1}) throw new Error('not all rows were read');`;

export function benchEnrol(folder: string): BenchRow[] {
  mkdirSync(folder, { recursive: true });
  const [csv, ledger] = [join(folder, 'plants.csv'), join(folder, 'ledger')];
  const rows = Array.from({ length: ROWS }, (_, index) => {
    const parents = `Seed Parent ${index % 40},Pollen Parent ${index % 7}`;
    return `N${index + 1},${parents},2023-02-${10 + (index % 18)},bench ${Math.floor(index / 200)} / ${index % 200}`;
  });
  writeFileSync(csv, ['key,seed_parent,pollen_parent,sown,station', ...rows].join('\n'));
  const { ours, alone } = byTurns(5, {
    ours: () => {
      rmSync(ledger, { recursive: true, force: true });
      return runBare([LAUNCHER, 'enrol', csv, '--id-length', '6', '--ledger', ledger, '--quiet']);
    },
    alone: () => runBare(['-e', PARSE_ALONE, csv]),
  });
  const ratio = ours.seconds / alone.seconds;
  return [
    {
      what: 'enrol 100,000 rows, whole process',
      measured: `${ratio.toFixed(1)} × parsing the CSV alone (${ours.seconds.toFixed(2)} s : ${alone.seconds.toFixed(2)} s)`,
      bar: '≤ 4 ×',
      holds: ratio <= 4,
    },
  ];
}
