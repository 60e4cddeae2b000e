/**
 * `pottag doubts` as a grower meets it.
 */
import { beforeEach, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

interface DoubtsDocument {
  readonly doubts: readonly {
    readonly a: string;
    readonly b: string | null;
    readonly since: { readonly from: string; readonly to: string };
    readonly bayes_factor: number;
    readonly log10_bayes_factor: number;
    readonly probability: number;
    readonly said: boolean;
    readonly because: readonly string[];
    readonly would_settle: string | null;
    readonly command: string | null;
  }[];
  readonly contradictions: readonly {
    readonly id: string;
    readonly because: readonly string[];
    readonly observations: readonly {
      readonly number: number;
      readonly entry: string;
      readonly date: string;
    }[];
  }[];
  readonly pairs_considered: number;
  readonly false_alarm_rate: number;
}

let bench: Bench;
let ids: string[];

beforeEach(() => {
  bench = makeBench();
  const rows = [1, 2, 3, 4, 5].map((place) => `P${place},bench 1 / ${place},2022-03-01`);
  bench.write('plants.csv', ['key,station,sown', ...rows].join('\n'));
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  ids = plants.map(({ id }) => id);
});

function see(place: number, date: string, ...seen: readonly string[]): void {
  bench.expect(0, ['scan', ids[place - 1] ?? '', '--date', date, ...seen]);
}

/** Leaves seen on a walk by all five. */
function walk(date: string, leaves: readonly string[]): void {
  const rows = leaves.map((leaf, index) => `bench 1 / ${index + 1},${ids[index]},${leaf}`);
  bench.write('walk.csv', ['station,scanned,leaf', ...rows].join('\n'));
  bench.expect(0, ['walk', 'walk.csv', '--date', date, '--apply']);
}

const CUT = ['--fruit', 'ripe', '--wood', 'new', '--inside'];

function exchangeTwo(): void {
  walk('2024-04-20', ['unlobed', 'five-lobed', 'narrow', 'narrow', 'unlobed']);
  walk('2025-04-20', ['unlobed', 'five-lobed', 'narrow', 'narrow', 'unlobed']);
  see(1, '2025-08-20', ...CUT, 'stamens');
  see(2, '2025-09-01', ...CUT, 'pulp');
  walk('2026-04-20', ['five-lobed', 'unlobed', 'narrow', 'narrow', 'unlobed']);
  see(1, '2026-08-20', ...CUT, 'pulp');
  see(2, '2026-09-01', ...CUT, 'stamens');
}

it('when nothing contradicts itself, says so and ends with 0', () => {
  expect(bench.expect(0, ['doubts']).stdout).toMatch(/No doubts.*10 pairs/);
  see(1, '2025-08-20', ...CUT, 'pulp');
  expect(bench.json<DoubtsDocument>(0, ['doubts'])).toEqual({
    doubts: [],
    contradictions: [],
    pairs_considered: 10,
    false_alarm_rate: 0.05,
  });
});

it('when two plants were exchanged, names them, the days, what contradicts and the next step', () => {
  exchangeTwo();
  const { entries } = bench.json<{ entries: number }>(0, ['check']);
  const { doubts, contradictions } = bench.json<DoubtsDocument>(1, ['doubts']);
  expect(contradictions).toEqual([]);
  expect(doubts).toHaveLength(1);
  const [doubt] = doubts;
  expect(doubt).toMatchObject({
    a: ids[0],
    b: ids[1],
    since: { from: '2025-09-02', to: '2026-04-20' },
    said: true,
    command: `pottag exchange ${ids[0]} ${ids[1]} --since 2026-04-20`,
  });
  expect(doubt?.bayes_factor).toBeGreaterThan(150);
  expect(doubt?.log10_bayes_factor).toBeCloseTo(Math.log10(doubt?.bayes_factor ?? 0), 9);
  expect(doubt?.because).toContain(
    `${ids[0]}: leaf unlobed on 2024-04-20 and 2025-04-20, then five-lobed on 2026-04-20`,
  );
  const { stdout } = bench.expect(1, ['doubts']);
  expect(stdout).toMatch(/1 doubt.*10 pairs/);
  expect(stdout).toMatch(/from 2025-09-02 to 2026-04-20/);
  expect(stdout).toMatch(/very strong evidence/);
  expect(stdout).toMatch(`pottag exchange ${ids[0]} ${ids[1]} --since 2026-04-20`);
  // It only reads.
  expect(bench.json<{ entries: number }>(0, ['check']).entries).toBe(entries);
});

it('when the exchange is put right as told, nothing is left of it; when that is undone, it is back', () => {
  exchangeTwo();
  const [doubt] = bench.json<DoubtsDocument>(1, ['doubts']).doubts;
  const [, ...words] = doubt?.command?.split(' ') ?? [];
  const { change } = bench.json<{ change: number }>(0, words);
  expect(bench.json<DoubtsDocument>(0, ['doubts'])).toMatchObject({ doubts: [], contradictions: [] });
  bench.expect(0, ['undo', String(change)]);
  expect(bench.json<DoubtsDocument>(1, ['doubts']).doubts).toMatchObject([{ a: ids[0], b: ids[1] }]);
});

it('when a caprifig bore edible pulp once, says which observation is the odd one out, and ends with 0', () => {
  see(1, '2024-08-20', ...CUT, 'stamens');
  see(1, '2025-08-20', ...CUT, 'stamens');
  see(1, '2026-08-20', ...CUT, 'pulp');
  const { doubts, contradictions } = bench.json<DoubtsDocument>(0, ['doubts']);
  expect(doubts).toEqual([]);
  expect(contradictions).toMatchObject([{ id: ids[0], observations: [{ date: '2026-08-20' }] }]);
  expect(contradictions[0]?.observations[0]?.entry).toMatch(/^[0-9a-f-]{36}$/);
  const number = contradictions[0]?.observations[0]?.number;
  expect(bench.expect(0, ['doubts']).stdout).toMatch(`pottag undo ${number} withdraws it`);
  bench.expect(0, ['undo', String(number)]);
  expect(bench.json<DoubtsDocument>(0, ['doubts']).contradictions).toEqual([]);
});

it('when it is likely but not beyond doubt, says what would settle it', () => {
  see(1, '2024-08-20', ...CUT, 'stamens');
  see(1, '2025-08-20', ...CUT, 'stamens');
  see(1, '2026-08-20', ...CUT, 'pulp');
  see(2, '2024-09-01', ...CUT, 'pulp');
  see(2, '2025-09-01', ...CUT, 'pulp');
  see(2, '2026-09-01', ...CUT, 'stamens');
  const { doubts } = bench.json<DoubtsDocument>(1, ['doubts']);
  expect(doubts).toMatchObject([{ a: ids[0], b: ids[1], said: false }]);
  expect(doubts[0]?.probability).toBeLessThan(0.9);
  expect(doubts[0]?.would_settle).toMatch(/Cut a fruit of both: .*stamens.*pulp/);
  expect(bench.expect(1, ['doubts']).stdout).toMatch(/Perhaps[\s\S]*Cut a fruit of both/);
});

it('of no ledger ends with 3, and takes no arguments', () => {
  expect(bench.expect(3, ['doubts', '--ledger', 'none']).stderr).toMatch(/no ledger in none/);
  expect(bench.expect(2, ['doubts', 'K7FY5']).stderr).toMatch(/Too many/);
});

it('takes the colour of the pulp, however it is typed, for a trait that stays with a plant', () => {
  const colours = ['red', 'amber', 'white', 'pink', 'amber'];
  for (const [year, swapped] of [
    [2023, false],
    [2024, false],
    [2025, true],
    [2026, true],
  ] as const) {
    const seen = swapped ? [colours[1], colours[0], ...colours.slice(2)] : colours;
    const lines = seen.map((colour, index) => `${ids[index]}\npulp-colour ${colour}\n`);
    bench.expect(0, ['scan', '--date', `${year}-09-01`], lines.join(''));
  }
  const rows = ['station,scanned,Pulp colour', `bench 1 / 1,${ids[0]},Amber`];
  bench.write('walk.csv', rows.join('\n'));
  bench.run(['walk', 'walk.csv', '--date', '2026-10-01', '--apply']);
  const { doubts } = bench.json<DoubtsDocument>(1, ['doubts']);
  expect(doubts).toHaveLength(1);
  expect(new Set([doubts[0]?.a, doubts[0]?.b])).toEqual(new Set(ids.slice(0, 2)));
  expect(doubts[0]?.because.join('\n')).toMatch(/pulp-colour red on 2023-09-01 and 2024-09-01/);
});
