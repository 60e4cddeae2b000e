/** Several machines that share a ledger: each has its own folder and its own copy. */
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { expect, inject, onTestFinished } from 'vitest';
import { emptyDatabase } from '../support/postgres.js';

const LAUNCHER = resolve(import.meta.dirname, '../../bin/pottag.js');

/** The address of the server that these tests share. */
export function server(): string {
  const url = inject('postgres');
  if (url === undefined) throw new Error('run with --project server');
  return url;
}

export const newDatabase = () => emptyDatabase(server());

export class Machine {
  readonly folder = mkdtempSync(join(tmpdir(), 'pottag-machine-'));

  /** @param ledger what it names as its ledger */
  constructor(
    readonly ledger: string,
    readonly name: string,
  ) {
    onTestFinished(() => rmSync(this.folder, { recursive: true, force: true }));
  }

  file(name: string): string {
    return join(this.folder, name);
  }

  write(name: string, content: string | Uint8Array): string {
    writeFileSync(this.file(name), content);
    return name;
  }

  /** Runs `pottag`; fails the test with all that was printed if the exit code is another. */
  expect(status: number, ...args: readonly string[]): string {
    const run = spawnSync(process.execPath, [LAUNCHER, ...args], {
      ...this.#where(),
      input: '',
      encoding: 'utf8',
      timeout: 50_000,
    });
    expect(run.status, `pottag ${args.join(' ')}\n${run.stdout}\n${run.stderr}`).toBe(status);
    return run.stdout + run.stderr;
  }

  json<T>(status: number, ...args: readonly string[]): T {
    return JSON.parse(this.expect(status, '--quiet', '--json', ...args)) as T;
  }

  start(...args: readonly string[]) {
    return this.startWith({}, ...args);
  }

  startWith(environment: NodeJS.ProcessEnv, ...args: readonly string[]) {
    const { cwd, env } = this.#where();
    return spawn(process.execPath, [LAUNCHER, ...args], {
      cwd,
      env: { ...env, ...environment },
      stdio: 'pipe',
    });
  }

  #where() {
    const { POTTAG_LEDGER: _ledger, ...others } = process.env;
    const mine = { POTTAG_LEDGER: this.ledger, POTTAG_COPIES: this.file('copies'), POTTAG_BY: this.name };
    return { cwd: this.folder, env: { ...others, ...mine, NO_COLOR: '1', TZ: 'UTC' } };
  }
}

/** A CSV of so many seedlings, their keys beginning with `name`. */
export function seedlings(name: string, count: number): string {
  const rows = Array.from({ length: count }, (_, index) => `${name}-${index},Aurelda,Tessa`);
  return `key,seed parent,pollen parent\n${rows.join('\n')}\n`;
}

/** Resolves with all that was printed there so far once `text` is among it. */
export function printed(stream: NodeJS.ReadableStream, text: string): Promise<string> {
  let all = '';
  return new Promise((resolve, reject) => {
    stream.on('data', (data) => {
      all += data;
      if (all.includes(text)) resolve(all);
    });
    stream.once('end', () => reject(new Error(`without "${text}":\n${all}`)));
  });
}

export function exitCode(child: ReturnType<Machine['start']>): Promise<number | null> {
  return new Promise((resolve) => child.once('exit', resolve));
}
