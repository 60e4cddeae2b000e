/** `pottag exchange`: what it says, its document, and every way to call it wrongly. */
import { beforeEach, describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

let bench: Bench;
let a: string;
let b: string;

beforeEach(() => {
  bench = makeBench();
  bench.write('plants.csv', 'key,station,sown\na,bench 1 / 1,2024-02\nb,bench 1 / 2,2024-02\n');
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  [a, b] = plants.map(({ id }) => id) as [string, string];
  bench.expect(0, ['tags', '--all', '--stock', 'a4-65-38x21', '--out', 'tags.pdf']);
  bench.expect(0, ['scan', `${a}.1`, '--brix', '18', '--date', '2026-06-10']);
  bench.expect(0, ['scan', `${b}.1`, '--brix', '12', '--date', '2026-07-10']);
  bench.expect(0, ['scan', `${b}.1`, '--brix', '13', '--date', '2026-08-10']);
});

const entries = () => bench.json<{ entries: number }>(0, ['check']).entries;

describe('exchange', () => {
  it('says what changed, what to hang where, and how to undo it', () => {
    const { stdout, stderr } = bench.expect(0, ['exchange', a, b, '--since', '2026-07-01']);
    expect(stdout).toMatch(new RegExp(`0 observations of ${a} are of ${b} now`));
    expect(stdout).toMatch(new RegExp(`2 observations of ${b} are of ${a} now`));
    expect(stdout).toMatch(new RegExp(`${a}.1 and ${b}.1 are void`));
    expect(stdout).toContain('pottag tags --queued');
    expect(stdout).toMatch(new RegExp(`wears ${b}.1 is ${a} \\(bench 1 / 1\\): .*hang ${a}.2`));
    const number = /pottag undo (\d+)/.exec(stderr)?.[1];
    bench.expect(0, ['undo', number as string]);
    const shown = bench.json<{ observations: object[]; tags: object[] }>(0, ['show', a]);
    expect(shown.observations).toMatchObject([{ brix: 18, recorded_as: a }]);
    expect(shown.tags).toMatchObject([{ status: 'current' }]);
  });

  it('--json has the plants, the days, what moved, the tags and the change', () => {
    const document = bench.json<Record<string, unknown>>(0, [
      'exchange',
      `${a}.1`,
      b.toLowerCase(),
      '--since',
      '2026-07-01',
      '--hung-back',
      '2026-08-01',
    ]);
    expect(document).toMatchObject({
      ids: [a, b],
      since: '2026-07-01',
      until: '2026-08-01',
      moved: [
        { from: a, to: b, observations: 0 },
        { from: b, to: a, observations: 1 },
      ],
      stations: { [a]: 'bench 1 / 1', [b]: 'bench 1 / 2' },
      voided: [],
      doubts_settled: 0,
      change: expect.any(Number),
      entry: expect.stringMatching(/^[0-9a-f-]{36}$/),
    });
    const { undone } = bench.json<{ undone: object }>(0, ['undo', String(document.entry)]);
    expect(undone).toMatchObject({ number: document.change });
  });

  const wrong: readonly (readonly [args: (ids: readonly string[]) => string[], says: RegExp])[] = [
    [([x]) => [x as string, x as string, '--since', '2026-07-01'], /named twice/],
    [([x]) => [x as string, 'K7FY5', '--since', '2026-07-01'], /"K7FY5" names no plant/],
    [([x, y]) => [x as string, y as string, '--since', '01.07.2026'], /not a day/],
    [([x, y]) => [x as string, y as string, '--since', '2999-01-01'], /future/],
    [([x, y]) => [x as string, y as string, '--since', '2020-01-01'], /before plant .* was sown/],
    [
      ([x, y]) => [x as string, y as string, '--since', '2026-07-01', '--hung-back', '2026-06-01'],
      /before 2026/,
    ],
    [([x, y]) => [x as string, y as string, '--since', '2026-09-01', '--hung-back'], /Nothing was seen/],
    [([x, y]) => [x as string, y as string], /--since/],
    [([x]) => [x as string, '--since', '2026-07-01'], /'b'/],
  ];
  for (const [args, says] of wrong) {
    it(`${args(['A', 'B']).join(' ')} ends with 2 and writes nothing`, () => {
      const before = entries();
      const { stdout, stderr } = bench.expect(2, ['exchange', ...args([a, b])]);
      expect(stdout).toBe('');
      expect(stderr).toMatch(says);
      expect(stderr.trim().split('\n').length).toBeGreaterThan(1);
      expect(entries()).toBe(before);
    });
  }

  it('of a plant that was dead by then ends with 2; of one written off meanwhile, moves its end', () => {
    bench.expect(0, ['scan', `${b}.1`, '--alive', 'no', '--date', '2026-08-20']);
    expect(bench.expect(2, ['exchange', a, b, '--since', '2026-09-01']).stderr).toMatch(
      /ended on 2026-08-20/,
    );
    bench.expect(0, ['exchange', a, b, '--since', '2026-07-01']);
    const ended = (id: string) => bench.json<{ plant: { ended: string } }>(0, ['show', id]).plant.ended;
    expect([ended(a), ended(b)]).toEqual(['2026-08-20', null]);
  });

  it('the second time ends with 2 and names what to undo', () => {
    bench.expect(0, ['exchange', a, b, '--since', '2026-07-01']);
    expect(bench.expect(2, ['exchange', b, a, '--since', '2026-06-01']).stderr).toMatch(
      /already.*\n.*pottag undo \d+/,
    );
  });

  it('without a ledger ends with 3', () => {
    const args = ['exchange', a, b, '--since', '2026-07-01', '--ledger', 'none'];
    expect(bench.expect(3, args).stderr).toMatch(/no ledger in none/);
  });
});
