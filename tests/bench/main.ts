/**
 * `npm run bench -- [part ...]`: each row of the design's bars beside its peer, in one run, as ratios; all of them, or
 * those of the parts named. Large ledgers are kept in the system's folder for temporary files and used again.
 */
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { columns } from '../../src/cli/console.js';
import { benchAppends } from './append.js';
import { benchDoubts } from './doubts.js';
import { benchEnrol } from './enrol.js';
import { benchFaults } from './faults.js';
import type { BenchRow } from './measure.js';
import { benchMud } from './mud.js';
import { benchPhotos } from './photos.js';
import { benchReading } from './reading.js';
import { benchScan } from './scan.js';
import { benchServe } from './serve.js';
import { benchTags } from './tags.js';
import { benchWalk } from './walk.js';

const folder = join(tmpdir(), 'pottag-bench');
const parts: Readonly<Record<string, () => BenchRow[] | Promise<BenchRow[]>>> = {
  tags: () => benchTags(join(folder, 'tags')),
  scan: () => benchScan(folder),
  append: () => benchAppends(folder),
  enrol: () => benchEnrol(join(folder, 'enrol')),
  reading: benchReading,
  serve: () => benchServe(folder),
  walk: () => benchWalk(folder),
  doubts: () => benchDoubts(folder),
  faults: () => benchFaults(),
  mud: () => benchMud(),
  photos: () => benchPhotos(),
};
const names = process.argv.length > 2 ? process.argv.slice(2) : Object.keys(parts);
const unknown = names.find((name) => parts[name] === undefined);
if (unknown !== undefined) {
  throw new Error(`There is no part ${unknown}, but ${Object.keys(parts).join(', ')}.`);
}
const rows: BenchRow[] = [];
for (const name of names) rows.push(...((await parts[name]?.()) ?? []));
console.log(
  columns([
    ['what', 'measured', 'bar', ''],
    ...rows.map(({ what, measured, bar, holds }) => [what, measured, bar, holds ? 'holds' : 'MISSED']),
  ]),
);
process.exitCode = rows.every(({ holds }) => holds) ? 0 : 1;
