/**
 * Times whole processes, by turns, so that whatever else the machine does falls on all alike.
 */
import { spawnSync } from 'node:child_process';
import { join, resolve } from 'node:path';

export const ROOT = resolve(import.meta.dirname, '../..');
export const LAUNCHER = join(ROOT, 'bin/pottag.js');

export interface Measured {
  readonly seconds: number;
  /** Most memory the process held at once. */
  readonly peakMb: number;
}

/** Prints the peak memory when the process that it is loaded into ends. */
const REPORT_MEMORY = `data:text/javascript,${encodeURIComponent(
  "process.on('exit', () => process.stderr.write('peak-kb ' + process.resourceUsage().maxRSS + '\\n'));",
)}`;

/** Runs `node ARGS` to its end. @throws if it does not end with `expected` */
export function runNode(args: readonly string[], env: NodeJS.ProcessEnv = {}, expected = 0): Measured {
  const { seconds, stderr } = run(['--import', REPORT_MEMORY, ...args], env, expected);
  return { seconds, peakMb: Number(/peak-kb (\d+)/.exec(stderr)?.[1]) / 1024 };
}

/** As `runNode`, without loading anything into the process, which makes bare Node start later; its memory is not known. */
export function runBare(args: readonly string[]): Measured {
  return { seconds: run(args, {}, 0).seconds, peakMb: Number.NaN };
}

function run(args: readonly string[], env: NodeJS.ProcessEnv, expected: number) {
  const started = process.hrtime.bigint();
  const { status, stdout, stderr } = spawnSync(process.execPath, [...args], {
    encoding: 'utf8',
    env: { ...process.env, NO_COLOR: '1', ...env },
    maxBuffer: 1 << 28,
  });
  const seconds = Number(process.hrtime.bigint() - started) / 1e9;
  if (status !== expected)
    throw new Error(`node ${args.join(' ')} ended with ${status}:\n${stdout}${stderr}`);
  return { seconds, stderr };
}

/** The median of each contestant over `rounds`, taken by turns after one round unmeasured. */
export function byTurns<K extends string>(
  rounds: number,
  contestants: Record<K, () => Measured>,
): Record<K, Measured> {
  const names = Object.keys(contestants) as K[];
  const results = Object.fromEntries(names.map((name) => [name, [] as Measured[]])) as Record<K, Measured[]>;
  for (let round = -1; round < rounds; round++) {
    for (const name of names) {
      const measured = contestants[name]();
      if (round >= 0) results[name].push(measured);
    }
  }
  return Object.fromEntries(
    names.map((name) => [
      name,
      {
        seconds: median(results[name].map(({ seconds }) => seconds)),
        peakMb: median(results[name].map(({ peakMb }) => peakMb)),
      },
    ]),
  ) as Record<K, Measured>;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}

/** One line of the table: what was measured, beside what, against which bar. */
export interface BenchRow {
  readonly what: string;
  readonly measured: string;
  readonly bar: string;
  readonly holds: boolean;
}
