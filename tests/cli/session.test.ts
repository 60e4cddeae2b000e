import type { ChildProcess } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, NOON, seedling } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';

/** `PXSV9` and `DZK67`. */
async function garden(): Promise<Bench> {
  const bench = makeBench();
  const ledger = await createLedger(bench.file('pottag-ledger'), 5, 'wren', NOON);
  await ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling('a'), seedling('b')]));
  ledger.close();
  return bench;
}

const observations = (bench: Bench, id: string) =>
  bench.json<{ observations: Record<string, unknown>[] }>(0, ['show', id]).observations;

/** Collects what a child prints, and waits for parts of it. */
class Talk {
  text = '';

  constructor(readonly child: ChildProcess) {
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding('utf8').on('data', (text: string) => {
        this.text += text;
      });
    }
  }

  async hears(wanted: RegExp): Promise<void> {
    while (!wanted.test(this.text)) {
      if (this.child.exitCode !== null) throw new Error(`ended before ${wanted}: ${this.text}`);
      await new Promise((later) => setTimeout(later, 5));
    }
  }

  ended(): Promise<number | string | null> {
    return new Promise((done) => this.child.once('close', (code, signal) => done(code ?? signal)));
  }
}

describe('a session on stdin', () => {
  it('runs as the example of the help says', async () => {
    const bench = await garden();
    const { stdout: help } = bench.expect(0, ['scan', '--help']);
    const [, example = ''] = /\n\n((?: {2}(?:K7FY5|[a-z]+ ).*\n)+)\n/.exec(help) ?? [];
    expect(example.trim().split('\n').length).toBeGreaterThan(2);
    const input = example.replace(/^ +/gm, '').replace('K7FY5.1', 'PXSV9');
    const { stdout } = bench.expect(0, ['scan'], input);
    expect(stdout).toMatch(/recorded \d{4}-\d\d-\d\d: fruit ripe, brix 18\.5 °Bx/);
    expect(observations(bench, 'PXSV9')).toMatchObject([{ fruit: 'ripe', brix: 18.5, by: 'wren' }]);
  });

  it('with --json prints one document, with the problems by line', async () => {
    const bench = await garden();
    const said = bench.json<{ scans: { status: string; observation: object | null }[]; problems: object[] }>(
      1,
      ['scan', '--by', 'finch', '--date', '2026-01-05'],
      'PXSV9\nbrix 99\nliking 7\nLOT 4711\nbrix 18\n',
    );
    expect(said.scans).toMatchObject([
      { status: 'current', observation: { liking: 7, by: 'finch', date: '2026-01-05' } },
      { status: 'not-a-tag', observation: null },
    ]);
    expect(said.problems).toMatchObject([{ line: 2 }, { line: 5 }]);
  });

  const inputs: readonly (readonly [what: string, input: string])[] = [
    ['no newline at the end', 'PXSV9\nbrix 18'],
    ['CRLF', 'PXSV9\r\nbrix 18\r\n'],
    ['CR, as some scanners send', 'PXSV9\rbrix 18\r'],
    ['a byte-order mark', '\ufeffPXSV9\nbrix 18\n'],
  ];
  for (const [what, input] of inputs) {
    it(`reads input with ${what}`, async () => {
      const bench = await garden();
      bench.expect(0, ['scan'], input);
      expect(observations(bench, 'PXSV9')).toMatchObject([{ brix: 18 }]);
    });
  }

  it('with no input at all, has nothing to say', async () => {
    const bench = await garden();
    expect(bench.expect(0, ['scan'])).toMatchObject({ stdout: '', stderr: '' });
    expect(bench.json<object>(0, ['scan'])).toEqual({ scans: [], problems: [] });
  });

  it('a line of a megabyte closes the plant, and the rest goes on', async () => {
    const bench = await garden();
    const long = ['a', '.', '-', 'brix'].map((part) => part.repeat(1_000_000 / part.length)).join('\n');
    bench.expect(1, ['scan'], `PXSV9\nbrix 18\n${long}\nbrix 30\nDZK67\nbrix 19\n`);
    expect(observations(bench, 'PXSV9')).toMatchObject([{ brix: 18 }]);
    expect(observations(bench, 'DZK67')).toMatchObject([{ brix: 19 }]);
  });

  it('bytes that are no text close the plant, and the rest goes on', async () => {
    const bench = await garden();
    const noise = Buffer.from(Array.from({ length: 5000 }, (_, index) => (index * 7919) % 256));
    const talk = new Talk(bench.start(['scan']));
    talk.child.stdin?.end(
      Buffer.concat([Buffer.from('PXSV9\nbrix 18\n'), noise, Buffer.from('\nDZK67\nbrix 19\n')]),
    );
    expect(await talk.ended()).toBe(1);
    expect(observations(bench, 'PXSV9')).toMatchObject([{ brix: 18 }]);
    expect(observations(bench, 'DZK67')).toMatchObject([{ brix: 19 }]);
  });
});

describe('a session that is broken off', () => {
  // Ctrl-C; the terminal's window closed or its line lost; the machine shut down.
  for (const signal of ['SIGINT', 'SIGHUP', 'SIGTERM'] as const) {
    const test = it;
    test(`by ${signal}, saves what was typed`, async () => {
      const bench = await garden();
      const talk = new Talk(bench.start(['scan']));
      talk.child.stdin?.write('PXSV9\nbrix 18\n');
      await talk.hears(/brix 18/);
      talk.child.kill(signal);
      expect(await talk.ended()).toBe(0);
      expect(talk.text).toMatch(/recorded/);
      expect(observations(bench, 'PXSV9')).toMatchObject([{ brix: 18 }]);
    });
  }

  it('by SIGINT with --json, still prints its document', async () => {
    const bench = await garden();
    const child = bench.start(['scan', '--json']);
    const talk = new Talk(child);
    child.stdin?.write('PXSV9\nbrix 18\n');
    await new Promise((later) => setTimeout(later, 1000)); // It says nothing to wait for.
    child.kill('SIGINT');
    expect(await talk.ended()).toBe(0);
    expect(JSON.parse(talk.text).scans).toMatchObject([{ observation: { brix: 18 } }]);
  });

  it('by the reader of its stdout, saves what was typed', async () => {
    const bench = await garden();
    const child = bench.start(['scan']);
    child.stdin?.on('error', () => {});
    child.stdin?.write('PXSV9\n');
    const ended = new Promise((done) => child.once('close', done));
    await new Promise((heard) => child.stdout?.once('data', heard));
    child.stdout?.destroy();
    child.stdin?.write('brix 18\n');
    await new Promise((later) => setTimeout(later, 300));
    child.stdin?.end('liking 8\nDZK67\nbrix 19\n');
    await ended;
    expect(observations(bench, 'PXSV9')).toMatchObject([{ brix: 18, liking: 8 }]);
    expect(observations(bench, 'DZK67')).toMatchObject([{ brix: 19 }]);
  });
});
