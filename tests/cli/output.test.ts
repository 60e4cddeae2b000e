/** Where words go, in what colour, and what happens when nobody reads them. */
import { spawn, spawnSync } from 'node:child_process';
import { openSync, rmSync } from 'node:fs';
import { resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Bench } from '../support/pottag.js';

const LAUNCHER = resolve(import.meta.dirname, '../../bin/pottag.js');
const ESCAPE = '\u001b[';

let bench: Bench;
beforeAll(() => {
  bench = new Bench();
  const rows = Array.from({ length: 3000 }, (_, index) => `plant ${index},Amber Tollhouse`);
  bench.write('plants.csv', `key,seed_parent\n${rows.join('\n')}\n`);
  bench.write('changed.csv', 'key,station\nplant 0,bench 1\n');
  bench.expect(0, ['enrol', 'plants.csv', '--ledger', 'garden']);
});
afterAll(() => rmSync(bench.folder, { recursive: true, force: true }));

/** With an environment of the test's own, and stdout where it says. */
function run(
  args: readonly string[],
  env: Record<string, string>,
  stdout: 'pipe' | number = 'pipe',
  stderr: 'pipe' | number = 'pipe',
) {
  const { NO_COLOR: _none, CI: _ci, POTTAG_LEDGER: _ledger, ...others } = process.env;
  return spawnSync(process.execPath, [LAUNCHER, ...args], {
    cwd: bench.folder,
    encoding: 'utf8',
    env: { ...others, POTTAG_BY: 'wren', ...env },
    stdio: ['ignore', stdout, stderr],
  });
}

describe('the ledger', () => {
  it('is the one that POTTAG_LEDGER names, unless --ledger does', () => {
    expect(run(['show', 'PXSV9'], { POTTAG_LEDGER: 'garden' }).status).toBe(0);
    expect(run(['show', 'PXSV9'], { POTTAG_LEDGER: 'none' }).status).toBe(3);
    expect(run(['show', 'PXSV9', '--ledger', 'garden'], { POTTAG_LEDGER: 'none' }).status).toBe(0);
    expect(run(['show', 'PXSV9'], {}).stderr).toContain('./pottag-ledger');
  });

  // An empty variable, as scripts leave it, names the folder "": "There is no ledger in ."
  it('when POTTAG_LEDGER is empty, is the default one', () => {
    expect(run(['show', 'PXSV9'], { POTTAG_LEDGER: '' }).stderr).toContain('./pottag-ledger');
  });
});

describe('global options', () => {
  it('may stand before and after the command', () => {
    const before = bench.expect(0, ['--json', '--ledger', 'garden', 'show', 'PXSV9']);
    const after = bench.expect(0, ['show', 'PXSV9', '--ledger', 'garden', '--json']);
    expect(JSON.parse(before.stdout)).toEqual(JSON.parse(after.stdout));
    expect(JSON.parse(bench.expect(3, ['--json', '--ledger', 'none', 'check']).stdout).error.code).toBe(
      'missing',
    );
  });
});

describe('--quiet', () => {
  it('leaves nothing on stderr when all is well, and the results on stdout', () => {
    bench.write('one.csv', 'key\na\n');
    const loud = bench.expect(0, ['enrol', 'one.csv', '--ledger', 'loud']);
    expect(loud.stderr).toContain('A new ledger');
    const quiet = bench.expect(0, ['enrol', 'one.csv', '--ledger', 'quiet', '--quiet']);
    expect(quiet.stderr).toBe('');
    expect(quiet.stdout).toBe(loud.stdout);
  });

  it('still says what was wrong', () => {
    expect(bench.expect(2, ['enrol', 'none.csv', '--quiet']).stderr).toContain('none.csv');
    bench.write('bad.csv', 'key\na\na\n');
    expect(bench.expect(2, ['enrol', 'bad.csv', '--quiet']).stderr).toMatch(/line 3/);
  });
});

describe('colour', () => {
  const args = ['enrol', 'changed.csv', '--ledger', 'garden', '--dry-run'];

  it('is there when forced, and never when NO_COLOR is set (no-color.org)', () => {
    expect(run(args, { FORCE_COLOR: '1' }).stdout).toContain(ESCAPE);
    const plain = run(args, { FORCE_COLOR: '1', NO_COLOR: '1' });
    expect(plain.stdout + plain.stderr).not.toContain(ESCAPE);
    expect(run(['show', 'K7FY5', '--ledger', 'garden'], { NO_COLOR: '1' }).stderr).not.toContain(ESCAPE);
  });

  it('is never in a JSON document', () => {
    expect(run([...args, '--json'], { FORCE_COLOR: '1' }).stdout).not.toContain(ESCAPE);
  });

  it('is not in what goes to a pipe or a file', () => {
    expect(run(args, {}).stdout).not.toContain(ESCAPE);
  });

  it('is not in what goes to a pipe or a file where CI is set', () => {
    expect(run(args, { CI: '1' }).stdout).not.toContain(ESCAPE);
  });
});

describe('a reader that stops early', () => {
  it('ends the command quietly', async () => {
    const child = spawn(process.execPath, [LAUNCHER, 'enrol', 'plants.csv', '--ledger', 'garden', '--json'], {
      cwd: bench.folder,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let stderr = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      stderr += text;
    });
    child.stdout.once('data', () => child.stdout.destroy());
    const status = await new Promise((ended) => child.once('close', (code) => ended(code)));
    expect(stderr).toBe('');
    expect(status).toBe(0);
  });

  // `pottag stocks 2>&1 | head -1`: the remark at the end has no reader any more.
  it('of both results and remarks ends the command quietly too', async () => {
    const both = ['-c', '"$0" "$@" 2>&1', process.execPath, LAUNCHER, 'stocks'];
    const child = spawn('sh', both, { cwd: bench.folder, stdio: ['ignore', 'pipe', 'ignore'] });
    child.stdout?.destroy();
    const status = await new Promise((ended) => child.once('close', (code) => ended(code)));
    expect(status).toBe(0);
  });

  // An uncaught error of Node, with its stack, and exit code 1, which says "done".
  it('when the disk that stdout goes to is full, says so without a stack trace', () => {
    const { status, stderr } = run(['show', 'PXSV9', '--ledger', 'garden'], {}, openSync('/dev/full', 'w'));
    expect(stderr).not.toMatch(/^\s+at /m);
    expect(status).toBe(3);
  });

  it('when the disk that stderr goes to is full, says by its exit code that not all was said', () => {
    const full = openSync('/dev/full', 'w');
    expect(run(['stocks'], {}, 'pipe', full).status).toBe(3);
    expect(run(['stocks', '--quiet'], {}, 'pipe', full).status).toBe(0);
  });
});

// A QR code on a stranger's label can hold anything; a terminal obeys what is not made harmless.
it('control characters in a scanned text do not reach the terminal', () => {
  const { stdout } = run(['scan', `${ESCAPE}2Jgone`, '--ledger', 'garden'], { NO_COLOR: '1' });
  expect(stdout).toContain('gone');
  expect(stdout).not.toContain(ESCAPE);
});
