/** A fault of Pottag itself, as the command line reports it; no input provokes one. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';

const ROOT = join(import.meta.dirname, '../..');

let ledger: string;
beforeEach(() => {
  ledger = mkdtempSync(join(tmpdir(), 'pottag-fault-'));
});
afterEach(() => rmSync(ledger, { recursive: true }));

/** Reports `new Error('unforeseen')` in a process of its own, whose output is all there is. */
function reported(isJson: boolean): { stdout: string; stderr: string } {
  const script = `
    import { reportFault } from './src/cli/report-error.ts';
    const fault = new Error('unforeseen', { cause: 'a cause' });
    process.exitCode = reportFault(fault, ${JSON.stringify(ledger)}, ['scan', 'K7FY5'], ${isJson});
  `;
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', '--input-type=module', '--eval', script],
    { cwd: ROOT, encoding: 'utf8' },
  );
  expect(status, stderr).toBe(70);
  return { stdout, stderr };
}

test('is a short text, its details in a file under the ledger', () => {
  const { stdout, stderr } = reported(false);
  expect(stdout).toBe('');
  expect(stderr).toMatch(/A fault of Pottag itself/);
  expect(stderr).not.toMatch(/^ +at /m);
  const [file] = readdirSync(join(ledger, 'faults'));
  expect(stderr).toContain(join(ledger, 'faults', file ?? ''));
  const details = readFileSync(join(ledger, 'faults', file ?? ''), 'utf8');
  expect(details).toMatch(/^pottag scan K7FY5\nError: unforeseen\n +at [\s\S]*caused by a cause\n$/);
});

test('is one JSON document with --json', () => {
  const { stdout, stderr } = reported(true);
  expect(stderr).toBe('');
  expect(JSON.parse(stdout)).toEqual({
    error: { code: 'fault', message: 'A fault of Pottag itself.', hint: expect.stringContaining(ledger) },
  });
});
