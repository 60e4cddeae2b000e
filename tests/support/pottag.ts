/**
 * The real command, run in a fresh folder of its own.
 */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { expect, inject, onTestFinished } from 'vitest';

const LAUNCHER = resolve(import.meta.dirname, '../../bin/pottag.js');

export interface Run {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export class Bench {
  readonly folder = mkdtempSync(join(tmpdir(), 'pottag-test-'));
  readonly #environment = environment(this.folder);

  file(name: string): string {
    return join(this.folder, name);
  }

  write(name: string, content: string | Uint8Array): string {
    writeFileSync(this.file(name), content);
    return name;
  }

  /** Runs `pottag` with these arguments; `input` is its stdin. */
  run(args: readonly string[], input = ''): Run {
    const { status, stdout, stderr } = spawnSync(process.execPath, [LAUNCHER, ...args], {
      cwd: this.folder,
      input,
      encoding: 'utf8',
      env: this.#environment,
      maxBuffer: 1 << 28,
    });
    return { status, stdout, stderr };
  }

  /** As `run`, and fails the test with all that was printed if the exit code is another. */
  expect(status: number, args: readonly string[], input = ''): Run {
    const run = this.run(args, input);
    expect(run.status, `pottag ${args.join(' ')}\n--- stdout\n${run.stdout}\n--- stderr\n${run.stderr}`).toBe(
      status,
    );
    return run;
  }

  /** The document that `pottag … --json` prints. */
  json<T>(status: number, args: readonly string[], input = ''): T {
    return JSON.parse(this.expect(status, [...args, '--json'], input).stdout) as T;
  }

  start(args: readonly string[]): ChildProcess {
    return spawn(process.execPath, [LAUNCHER, ...args], { cwd: this.folder, env: this.#environment });
  }
}

/** A folder that is removed when the test ends. */
export function makeBench(): Bench {
  const bench = new Bench();
  onTestFinished(() => rmSync(bench.folder, { recursive: true, force: true }));
  return bench;
}

function environment(folder: string): NodeJS.ProcessEnv {
  const { POTTAG_LEDGER: _ledger, ...others } = process.env;
  return { ...others, ...ledgerOf(folder), POTTAG_BY: 'wren', NO_COLOR: '1', TZ: 'UTC' };
}

/** By default a folder; a database of its own where the tests are run against a server. */
function ledgerOf(folder: string): NodeJS.ProcessEnv {
  const isTest = process.env.VITEST !== undefined; // The benchmarks use it too.
  const server = isTest ? inject('postgres') : undefined;
  if (server === undefined) return {};
  const maker = resolve(import.meta.dirname, 'make-database.mjs');
  const made = spawnSync(process.execPath, [maker, server], { encoding: 'utf8' });
  return { POTTAG_LEDGER: made.stdout.trim(), POTTAG_COPIES: join(folder, 'copies') };
}
