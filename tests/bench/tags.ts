/** Design section 10, first row: 10,000 QR tags to PDF, whole process, ledger and all. */
import { mkdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type BenchRow, byTurns, LAUNCHER, ROOT, runNode } from './measure.js';

const TAGS = 10_000;
const PLAIN_WAY = join(ROOT, 'tests/bench/plain-way.mjs');
/** The plain way takes a minute for 10,000: it is run for two smaller counts and carried on in a straight line. */
const PLAIN_COUNTS = [200, 1000] as const;

export function benchTags(folder: string): BenchRow[] {
  mkdirSync(folder, { recursive: true });
  const ledger = join(folder, 'ledger');
  const pdf = join(folder, 'tags.pdf');
  const rows = Array.from(
    { length: TAGS },
    (_, index) => `N${index},Tollhouse Amber,Moth Captain,2023-02-11`,
  );
  writeFileSync(join(folder, 'plants.csv'), ['key,seed_parent,pollen_parent,sown', ...rows].join('\n'));
  const measured = byTurns(3, {
    ours: () => {
      rmSync(ledger, { recursive: true, force: true });
      runNode([LAUNCHER, 'enrol', join(folder, 'plants.csv'), '--ledger', ledger, '--quiet']);
      const stock = ['--stock', 'a4-65-38x21', '--out', pdf];
      return runNode([LAUNCHER, 'tags', '--untagged', ...stock, '--ledger', ledger, '--quiet']);
    },
    few: () => runNode([PLAIN_WAY, String(PLAIN_COUNTS[0]), join(folder, 'plain.pdf')]),
    more: () => runNode([PLAIN_WAY, String(PLAIN_COUNTS[1]), join(folder, 'plain.pdf')]),
  });
  const { ours, few, more } = measured;
  const each = (more.seconds - few.seconds) / (PLAIN_COUNTS[1] - PLAIN_COUNTS[0]);
  const plainSeconds = more.seconds + each * (TAGS - PLAIN_COUNTS[1]);
  const ratio = plainSeconds / ours.seconds;
  const bytes = statSync(pdf).size / TAGS;
  return [
    {
      what: '10,000 QR tags to PDF, whole process',
      measured: `${ratio.toFixed(0)} × faster than PNG by PNG (${ours.seconds.toFixed(2)} s : ${plainSeconds.toFixed(0)} s)`,
      bar: '≥ 40 ×',
      holds: ratio >= 40,
    },
    { what: '  bytes a tag', measured: bytes.toFixed(0), bar: '≤ 200', holds: bytes <= 200 },
    {
      what: '  peak memory',
      measured: `${ours.peakMb.toFixed(0)} MB (PNG by PNG, 1,000 tags: ${more.peakMb.toFixed(0)} MB)`,
      bar: '≤ 250 MB',
      holds: ours.peakMb <= 250,
    },
  ];
}
