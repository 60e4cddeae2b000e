/** `pottag undo`: the list, taking back, putting under another plant, and every way to call it wrongly. */
import { beforeEach, describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

interface ShowDocument {
  readonly observations: readonly {
    readonly number: number;
    readonly entry: string;
    readonly brix?: number;
  }[];
  readonly withdrawn: readonly { readonly brix?: number; readonly withdrawn: { readonly by: string } }[];
  readonly tags: readonly { readonly status: string }[];
}

let bench: Bench;
let a: string;
let b: string;

beforeEach(() => {
  bench = makeBench();
  bench.write('plants.csv', 'key\na\nb\n');
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  [a, b] = plants.map(({ id }) => id) as [string, string];
});

const show = (id: string) => bench.json<ShowDocument>(0, ['show', id]);

describe('undo', () => {
  it('lists nothing, then what was written, latest first', () => {
    expect(bench.expect(0, ['undo']).stdout).toMatch(/Nothing was written/);
    expect(bench.json<object>(0, ['undo'])).toEqual({ changes: [] });
    bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30']);
    bench.expect(0, ['scan', b, '--brix', '12', '--date', '2026-08-30']);
    const { changes } = bench.json<{ changes: { words: string; by: string }[] }>(0, ['undo']);
    expect(changes).toMatchObject([
      { words: `seen on ${b} on 2026-08-30: brix 12 °Bx`, by: 'wren' },
      { words: `seen on ${a} on 2026-08-30: brix 18 °Bx`, by: 'wren' },
    ]);
    expect(bench.expect(0, ['undo']).stdout).toMatch(/\d+ +\d{4}-\d\d-\d\d \d\d:\d\d +wren +seen on/);
  });

  it('takes an observation back by the number that scan and show say, and puts it back', () => {
    const { stdout } = bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30']);
    const number = /pottag undo (\d+)/.exec(stdout)?.[1] as string;
    expect(show(a).observations).toMatchObject([{ number: Number(number), brix: 18 }]);
    expect(bench.expect(0, ['show', a]).stdout).toContain(`(${number})`);
    const { change } = bench.json<{ change: number }>(0, ['undo', `#${number}`]);
    expect(show(a)).toMatchObject({ observations: [], withdrawn: [{ brix: 18, withdrawn: { by: 'wren' } }] });
    expect(bench.expect(0, ['show', a]).stdout).toMatch(/1 taken back/);
    const counts = ['check', 'export --to csv', 'import csv --ledger again'].map(
      (call) => bench.expect(0, call.split(' ')).stdout,
    );
    for (const text of counts) expect(text).toContain('0 observations');
    bench.expect(0, ['undo', String(change)]);
    expect(show(a)).toMatchObject({ observations: [{ brix: 18 }], withdrawn: [] });
    bench.expect(0, ['check']);
  });

  it("takes an observation back by the entry in scan's --json", () => {
    const scanned = bench.json<{ scans: { observation: { entry: string } }[] }>(0, [
      'scan',
      a,
      '--brix',
      '18',
    ]);
    bench.expect(0, ['undo', scanned.scans[0]?.observation.entry as string]);
    expect(show(a).observations).toEqual([]);
  });

  it('takes a retag back', () => {
    bench.expect(0, ['tags', a, '--stock', 'a4-65-38x21', '--out', 'tags.pdf']);
    const { change } = bench.json<{ change: number }>(0, ['retag', a, '--why', 'lost']);
    bench.expect(0, ['undo', String(change)]);
    expect(show(a).tags).toMatchObject([{ status: 'current' }]);
    bench.expect(0, ['scan', `${a}.1`]);
  });

  it('--belongs-to puts an observation under another plant', () => {
    bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30']);
    const number = String(show(a).observations[0]?.number);
    const { change } = bench.json<{ change: number }>(0, ['undo', number, '--belongs-to', b]);
    expect(show(b).observations).toMatchObject([{ brix: 18, recorded_as: a }]);
    expect(bench.expect(0, ['show', b]).stdout).toContain(`recorded as ${a}`);
    bench.expect(0, ['undo', String(change)]);
    expect(show(a).observations).toMatchObject([{ brix: 18 }]);
  });

  const wrong: readonly (readonly [args: readonly string[], says: RegExp])[] = [
    [['99'], /no change 99/],
    [['1'], /cannot be undone/],
    [['2'], /CSV/],
    [['K7FY5'], /not the number/],
    [['4', '--belongs-to', 'K7FY5'], /"K7FY5" names no plant/],
    [['2', '--belongs-to', 'PXSV9'], /no observation/],
    [['4', '--belongs-to', 'PXSV9'], /of PXSV9 already/],
    [['--belongs-to', 'PXSV9'], /Which observation/],
  ];
  for (const [args, says] of wrong) {
    it(`${args.join(' ')} ends with 2 and writes nothing`, () => {
      bench.expect(0, ['scan', a, '--brix', '18']);
      const { stdout, stderr } = bench.expect(2, ['undo', ...args]);
      expect(stdout).toBe('');
      expect(stderr).toMatch(says);
      expect(stderr.trim().split('\n').length).toBeGreaterThan(1);
      expect(bench.json<{ entries: number }>(0, ['check']).entries).toBe(4);
    });
  }

  it('the same twice ends with 2', () => {
    bench.expect(0, ['scan', a, '--brix', '18']);
    bench.expect(0, ['undo', '4']);
    expect(bench.expect(2, ['undo', '4']).stderr).toMatch(/undone already/);
  });
});
