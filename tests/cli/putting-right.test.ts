/**
 * The storm and what comes after it, as a grower meets it: a lost tag, exchanged tags, doubtful fruit, new
 * tags, and a last walk that finds nothing; each step undone, and the earlier view asked for.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

interface WalkDocument {
  readonly findings: readonly {
    readonly kind: string;
    readonly stations: readonly string[];
    readonly what_moved?: string | null;
    readonly hung_wrong?: {
      readonly after: string | null;
      readonly until: string;
      readonly observations: number;
    };
    readonly put_right_by?: readonly (readonly [string, string])[];
  }[];
  readonly written: {
    readonly doubted: readonly { readonly number: number; readonly ids: readonly string[] }[];
    readonly change: number | null;
    readonly sighted: number;
  } | null;
}

interface ShowDocument {
  readonly plant: { readonly station: string | null; readonly ended: string | null };
  readonly tags: readonly { readonly text: string; readonly status: string }[];
  readonly observations: readonly {
    readonly number: number;
    readonly brix?: number;
    readonly doubtful: boolean;
    readonly recorded_as: string;
  }[];
  readonly withdrawn: readonly { readonly brix?: number; readonly withdrawn: { readonly by: string } }[];
  readonly doubts: readonly { readonly number: number; readonly ids: readonly string[] }[];
}

const STOCK = ['--stock', 'a4-65-38x21'];
const LEAVES = ['unlobed', 'three-lobed', 'five-lobed', 'seven-lobed'];
const S = (place: number) => `bench 1 / row 1 / ${place}`;

let bench: Bench;
let ids: string[];

/** Eight plants in a row, their leaves known and their tags hung. */
beforeEach(() => {
  bench = makeBench();
  const rows = Array.from({ length: 8 }, (_, at) => `P${at + 1},${S(at + 1)},2024-02-03,${LEAVES[at % 4]}`);
  bench.write('plants.csv', ['key,station,sown,leaf', ...rows].join('\n'));
  ids = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']).plants.map(({ id }) => id);
  bench.expect(0, ['tags', '--all', ...STOCK, '--out', 'tags.pdf']);
});

const id = (place: number) => ids[place - 1] as string;
const show = (place: number, ...more: string[]) => bench.json<ShowDocument>(0, ['show', id(place), ...more]);

/** The row walked on a day; station number → what hung there, if not the first tag of its own plant. */
function walk(day: string, changes: Readonly<Record<number, string>> = {}): string[] {
  const rows = ids.map((own, at) => `${S(at + 1)},${changes[at + 1] ?? `${own}.1`}`);
  bench.write(`${day}.csv`, ['station,scanned,leaf', ...rows].join('\n'));
  return ['walk', `${day}.csv`, '--date', day];
}

const kinds = ({ findings }: WalkDocument) =>
  findings.flatMap(({ kind }) => (kind === 'in-place' ? [] : [kind]));

/** In spring all is in place; then fruit is tasted; in the storm a tag is lost, and those of 3 and 4 fall. */
function storm(): string[] {
  bench.expect(0, [...walk('2026-04-20'), '--apply']);
  bench.expect(0, ['scan', `${id(3)}.1`, '--brix', '13', '--date', '2026-04-20']);
  bench.expect(0, ['scan', `${id(3)}.1`, '--brix', '14', '--date', '2026-08-30']);
  bench.expect(0, ['scan', `${id(4)}.1`, '--brix', '19', '--date', '2026-09-01']);
  return walk('2026-09-25', { 2: 'none', 3: `${id(4)}.1,five-lobed`, 4: `${id(3)}.1,seven-lobed` });
}

describe('after a storm', () => {
  it('the grower walks, applies, exchanges, prints, hangs, and the next walk finds nothing', () => {
    const args = storm();
    const found = bench.json<WalkDocument>(1, args).findings.find(({ kind }) => kind === 'exchanged');
    expect(found).toMatchObject({
      what_moved: 'tags',
      hung_wrong: { after: '2026-04-20', until: '2026-09-25', observations: 2 },
      put_right_by: [[id(4), id(3)]],
    });
    expect(bench.expect(1, args).stdout).toContain(`pottag exchange ${id(4)} ${id(3)} --since DAY`);
    const { written } = bench.json<WalkDocument>(1, [...args, '--apply']);
    expect(written).toMatchObject({ sighted: 6, doubted: [{ ids: [id(4), id(3)] }] });
    expect(show(3).observations.map(({ brix, doubtful }) => [brix, doubtful])).toEqual([
      [undefined, false],
      [13, false],
      [14, true],
    ]);
    const doubt = written?.doubted[0]?.number;
    expect(bench.expect(0, ['show', id(4)]).stdout).toMatch(
      new RegExp(`brix 19.*doubtful[\\s\\S]*pottag exchange .*--since[\\s\\S]*pottag undo ${doubt}`),
    );

    bench.expect(0, ['exchange', id(3), id(4), '--since', '2026-06-01']);
    expect(
      show(4).observations.map(({ brix, doubtful, recorded_as }) => [brix, doubtful, recorded_as]),
    ).toEqual([
      [undefined, false, id(4)],
      [14, false, id(3)],
    ]);
    expect(show(3).doubts).toEqual([]);
    // The old tags, still on the wrong pots, pass for nothing.
    bench.expect(1, ['scan', `${id(3)}.1`, '--brix', '15']);
    const queued = ['tags', '--queued', ...STOCK, '--out', 'new.pdf'];
    const { tags } = bench.json<{ tags: { text: string }[] }>(0, queued);
    expect(tags.map(({ text }) => text)).toEqual([2, 3, 4].map((place) => `${id(place)}.2`));
    const hung = { 2: `${id(2)}.2`, 3: `${id(3)}.2`, 4: `${id(4)}.2` };
    const after = walk('2026-10-02', hung);
    expect(kinds(bench.json<WalkDocument>(0, after))).toEqual([]);
    bench.expect(0, [...after, '--apply']);
    bench.expect(0, ['check']);
  });

  it('a walk that was applied is undone as one, and found again', () => {
    const args = storm();
    const before = [2, 3, 4].map((place) => show(place));
    const found = kinds(bench.json<WalkDocument>(1, args));
    const { written } = bench.json<WalkDocument>(1, [...args, '--apply']);
    bench.expect(0, ['undo', String(written?.change)]);
    const withoutTakenBack = (document: ShowDocument) => ({ ...document, withdrawn: [] });
    expect([2, 3, 4].map((place) => withoutTakenBack(show(place)))).toEqual(before);
    expect(kinds(bench.json<WalkDocument>(1, args))).toEqual(found);
    bench.expect(0, ['check']);
  });

  it('the same walk applied again doubts nothing twice; a later one widens the doubt', () => {
    const args = storm();
    bench.expect(1, [...args, '--apply']);
    const again = bench.json<WalkDocument>(1, [...args, '--apply']).written;
    expect(again).toMatchObject({ doubted: [], change: null });
    bench.expect(0, ['scan', `${id(4)}.1`, '--brix', '20', '--date', '2026-09-28']);
    const later = walk('2026-09-30', { 2: 'none', 3: `${id(4)}.1`, 4: `${id(3)}.1` });
    expect(bench.json<WalkDocument>(1, [...later, '--apply']).written?.doubted).toHaveLength(1);
    const { doubts, observations } = show(4);
    expect(doubts).toMatchObject([{ after: '2026-04-20', until: '2026-09-30' }]);
    expect(observations.filter(({ doubtful }) => doubtful)).toHaveLength(2);
    // The grower's word that they never hung wrong.
    bench.expect(0, ['undo', String(doubts[0]?.number)]);
    expect(show(4).observations.some(({ doubtful }) => doubtful)).toBe(false);
  });

  it('that the pots had moved, accepted, settles an earlier doubt', () => {
    const args = storm();
    bench.expect(1, [...args, '--apply']);
    const accept = ['--accept', `${S(3)}=${id(4)}`, '--accept', `${S(4)}=${id(3)}`];
    const { written } = bench.json<WalkDocument>(0, [...args, ...accept]);
    expect(show(3)).toMatchObject({ doubts: [], plant: { station: S(4) } });
    bench.expect(0, ['undo', String(written?.change)]);
    expect(show(3)).toMatchObject({ doubts: [{ ids: [id(4), id(3)] }], plant: { station: S(3) } });
    bench.expect(0, ['check']);
  });

  it('three tags in a round are put right by two exchanges', () => {
    bench.expect(0, [...walk('2026-04-20'), '--apply']);
    for (const place of [1, 2, 3]) {
      bench.expect(0, ['scan', `${id(place)}.1`, '--brix', String(10 + place), '--date', '2026-08-30']);
    }
    // The tag of 1 hangs at 2, that of 2 at 3, that of 3 at 1; so what was seen by tag 1 is plant 2's.
    const leaf = (place: number) => LEAVES[place - 1];
    const hung = { 1: `${id(3)}.1,${leaf(1)}`, 2: `${id(1)}.1,${leaf(2)}`, 3: `${id(2)}.1,${leaf(3)}` };
    const args = walk('2026-09-25', hung);
    const { findings } = bench.json<WalkDocument>(1, [...args, '--apply']);
    const exchanges = findings.find(({ kind }) => kind === 'rotated')?.put_right_by ?? [];
    expect(exchanges).toHaveLength(2);
    for (const [a, b] of exchanges) {
      bench.expect(0, ['exchange', a, b, '--since', '2026-06-01', '--hung-back']);
    }
    expect([1, 2, 3].map((place) => show(place).observations.at(-1)?.brix)).toEqual([13, 11, 12]);
    expect([1, 2, 3].map((place) => show(place).doubts)).toEqual([[], [], []]);
  });
});

it('the earlier view is as it was on that day, whatever was put right since', () => {
  bench.expect(0, ['scan', `${id(3)}.1`, '--brix', '14', '--date', '2026-08-30']);
  const days = bench
    .json<{ changes: { at: string }[] }>(0, ['undo'])
    .changes.map(({ at }) => at.slice(0, 10));
  const today = days[0] as string;
  const now = show(3);
  const then = show(3, '--as-of', today);
  expect(then.observations).toEqual(now.observations);
  expect(then.tags).toEqual(now.tags);
  const yesterday = new Date(Date.parse(today) - 86_400_000).toISOString().slice(0, 10);
  expect(bench.expect(2, ['show', id(3), '--as-of', yesterday]).stderr).toMatch(
    /no plant .*\n.*enrolled later/,
  );
  expect(bench.expect(2, ['show', id(3), '--as-of', '2999-01-01']).stderr).toMatch(/future/);
});
