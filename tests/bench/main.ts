/**
 * `npm run bench`: each row of the design's bars beside its peer, in one run, as ratios. Large ledgers
 * are kept in the system's folder for temporary files and used again.
 */
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { columns } from '../../src/cli/console.js';
import { benchAppends } from './append.js';
import { benchDoubts } from './doubts.js';
import { benchEnrol } from './enrol.js';
import { benchFaults } from './faults.js';
import { benchReading } from './reading.js';
import { benchScan } from './scan.js';
import { benchServe } from './serve.js';
import { benchTags } from './tags.js';
import { benchWalk } from './walk.js';

const folder = join(tmpdir(), 'pottag-bench');
const rows = [
  ...benchTags(join(folder, 'tags')),
  ...(await benchScan(folder)),
  ...(await benchAppends(folder)),
  ...benchEnrol(join(folder, 'enrol')),
  ...(await benchReading()),
  ...(await benchServe(folder)),
  ...(await benchWalk(folder)),
  ...(await benchDoubts(folder)),
  ...(await benchFaults()),
];
console.log(
  columns([
    ['what', 'measured', 'bar', ''],
    ...rows.map(({ what, measured, bar, holds }) => [what, measured, bar, holds ? 'holds' : 'MISSED']),
  ]),
);
process.exitCode = rows.every(({ holds }) => holds) ? 0 : 1;
