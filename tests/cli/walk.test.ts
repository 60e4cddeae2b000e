/**
 * `pottag walk` as a grower meets it: what it says, what it writes, and that what was settled stays so.
 */
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

interface WalkDocument {
  readonly findings: readonly {
    readonly kind: string;
    readonly station: string | null;
    readonly id: string | null;
    readonly stations: readonly string[];
    readonly ids: readonly string[];
    readonly candidates: readonly string[];
    readonly what_moved?: 'pots' | 'tags' | null;
    readonly would_settle?: { readonly station: string; readonly trait: string } | null;
  }[];
  readonly proposals: readonly {
    readonly station: string;
    readonly id: string | null;
    readonly probability: number;
    readonly because: string;
    readonly would_settle: { readonly trait: string; readonly expect: string } | null;
    readonly proposed: boolean;
  }[];
  readonly outside: number;
  readonly written: {
    readonly moved: readonly { readonly id: string; readonly to: string }[];
    readonly voided: readonly { readonly id: string; readonly issue: number }[];
    readonly sighted: number;
    readonly doubted: readonly { readonly number: number; readonly ids: readonly string[] }[];
    readonly change: number | null;
  } | null;
}

const KEYS = Array.from({ length: 12 }, (_, index) => `P${index + 1}`);
const LEAVES = ['unlobed', 'three-lobed', 'five-lobed', 'seven-lobed'];
const S = (place: number) => `bench 1 / row 1 / ${place}`;
const DAY = ['--date', '2026-10-17'];

const EXAMPLES = join(import.meta.dirname, '../../examples');

let bench: Bench;
let ids: string[];

/** Twelve plants in a row, with tags and leaves known, and one on another bench. */
beforeEach(() => {
  bench = makeBench();
  const rows = KEYS.map((key, index) => `${key},${S(index + 1)},2024-02-03,${LEAVES[index % 4]}`);
  bench.write('plants.csv', ['key,station,sown,leaf', ...rows, 'far,bench 2 / row 1 / 1,,'].join('\n'));
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  ids = plants.map(({ id }) => id);
  bench.expect(0, ['tags', '--all', '--stock', 'a4-65-38x21', '--out', 'tags.pdf']);
});

/** The row walked with these changes: station number → what was scanned, and the leaf seen. */
function walked(changes: Readonly<Record<number, string>>, stations = 12): string[] {
  const rows = Array.from({ length: stations }, (_, index) => {
    const plain = ids[index] === undefined || index >= 12 ? 'empty' : `${ids[index]}.1`;
    return `${S(index + 1)},${changes[index + 1] ?? plain}`;
  });
  bench.write('walk.csv', ['station,scanned,leaf', ...rows].join('\n'));
  return ['walk', 'walk.csv', ...DAY];
}

const tag = (number: number) => `${ids[number - 1]}.1`;
const out = (document: WalkDocument) =>
  document.findings
    .filter(({ kind }) => kind !== 'in-place')
    .map(({ kind, stations }) => [kind, ...stations]);

describe('a walk', () => {
  it('in place ends with 0 and finds nothing, whatever stands on other benches', () => {
    const document = bench.json<WalkDocument>(0, walked({}));
    expect(document.findings).toHaveLength(12);
    expect(out(document)).toEqual([]);
    expect(document).toMatchObject({ proposals: [], outside: 1, written: null });
    expect(bench.expect(0, walked({})).stdout).toMatch(/12 stations in order.*1 plant elsewhere/);
  });

  it('with anything else ends with 1, says what, and writes nothing', () => {
    const args = walked({ 2: 'none', 4: 'empty', 6: tag(7), 7: tag(6) });
    const document = bench.json<WalkDocument>(1, args);
    expect(out(document)).toEqual([
      ['tag-missing', S(2)],
      ['pot-missing', S(4)],
      ['exchanged', S(6), S(7)],
    ]);
    expect(document.proposals).toMatchObject([
      { station: S(2), id: ids[1], proposed: true, would_settle: null },
    ]);
    const { stdout, stderr } = bench.expect(1, args);
    expect(stdout).toMatch(
      new RegExp(`in each other's places\\n  ${S(6)}  has ${ids[6]}; ${S(7)} has ${ids[5]}`),
    );
    expect(stdout).toMatch(new RegExp(`${S(4)}  ${ids[3]} is not there`));
    expect(stdout).toMatch(new RegExp(`It is ${ids[1]} .*stands where the ledger has it`));
    expect(stderr).toMatch('--accept');
    expect(bench.json<{ observations: number }>(0, ['check']).observations).toBe(0);
  });

  it('holds what was seen against what stood in the ledger on its day', () => {
    for (const [height, day] of [
      ['30', '2026-05-01'],
      ['64', '2026-10-01'],
    ] as const) {
      bench.expect(0, ['scan', ids[1] ?? '', '--height', height, '--date', day]);
    }
    bench.write('w1.csv', `station,scanned,height_cm\n${S(2)},none,31\n`);
    const { stdout } = bench.expect(1, ['walk', 'w1.csv', '--date', '2026-06-01']);
    expect(stdout).toContain('height 31 cm, recorded 30 cm on 2026-05-01');
  });

  it('names the plants that a partly legible tag leaves', () => {
    const spoilt = `${ids[4]?.[0]}?${ids[4]?.[2]}?${ids[4]?.[4]}`;
    const { findings, proposals } = bench.json<WalkDocument>(1, walked({ 5: spoilt }));
    expect(findings.find(({ kind }) => kind === 'unreadable')).toMatchObject({
      station: S(5),
      id: ids[4],
      candidates: [ids[4]],
    });
    expect(proposals[0]).toMatchObject({ id: ids[4], proposed: true });
  });

  it('asks whether pots or tags changed places, and believes the leaves', () => {
    const ask = bench.json<WalkDocument>(1, walked({ 6: tag(7), 7: tag(6) }));
    expect(ask.findings.find(({ kind }) => kind === 'exchanged')).toMatchObject({ what_moved: null });
    // Plants 6 and 7 are three- and five-lobed.
    const pots = walked({ 6: `${tag(7)},five-lobed`, 7: `${tag(6)},three-lobed` });
    expect(
      bench.json<WalkDocument>(1, pots).findings.find(({ kind }) => kind === 'exchanged')?.what_moved,
    ).toBe('pots');
    const tags = walked({ 6: `${tag(7)},three-lobed`, 7: `${tag(6)},five-lobed` });
    expect(
      bench.json<WalkDocument>(1, tags).findings.find(({ kind }) => kind === 'exchanged')?.what_moved,
    ).toBe('tags');
    expect(bench.expect(1, tags).stdout).toMatch(/change them back/);
  });

  it('below 0.9 proposes nothing, and says which measurement would settle it', () => {
    bench.expect(0, ['scan', ids[1] ?? '', '--height', '40', '--date', '2026-10-01']);
    bench.expect(0, ['scan', ids[3] ?? '', '--height', '90', '--date', '2026-10-01']);
    // A pot without a tag stands at the end of the row, nine and eleven places from two missing plants.
    const args = walked({ 2: 'empty', 4: 'empty', 13: 'none' }, 13);
    const { proposals } = bench.json<WalkDocument>(1, args);
    expect(proposals).toHaveLength(1);
    expect(proposals[0]).toMatchObject({
      station: S(13),
      proposed: false,
      would_settle: { trait: 'height' },
    });
    expect(proposals[0]?.would_settle?.expect).toMatch(new RegExp(`${ids[1]} about 4\\d.* cm`));
    const { stdout } = bench.expect(1, args);
    expect(stdout).toMatch(/Not certain: .*\n.*Note the height: /);
  });
});

describe('--apply', () => {
  it('writes moves, sightings and tags lost in place; the same walk then finds nothing of it', () => {
    const args = walked({ 2: 'none', 5: 'empty', 13: tag(5) }, 13);
    const { written } = bench.json<WalkDocument>(0, [...args, '--apply']);
    expect(written).toMatchObject({
      moved: [{ id: ids[4], from: S(5), to: S(13) }],
      voided: [{ id: ids[1], issue: 1 }],
      sighted: 12,
      doubted: [],
    });
    expect(bench.json<{ plant: { station: string } }>(0, ['show', ids[4] ?? '']).plant.station).toBe(S(13));
    const again = bench.json<WalkDocument>(0, args);
    expect(out(again)).toEqual([['awaiting-tag', S(2)]]);
    const queued = bench.json<{ tags: { text: string }[] }>(0, [
      'tags',
      '--queued',
      '--stock',
      'a4-65-38x21',
      '--out',
      'new.pdf',
    ]);
    expect(queued.tags.map(({ text }) => text)).toEqual([`${ids[1]}.2`]);
    bench.expect(0, ['check']);
    // The new tag hangs: all is in place.
    expect(
      out(bench.json<WalkDocument>(0, walked({ 2: `${ids[1]}.2`, 5: 'empty', 13: tag(5) }, 13))),
    ).toEqual([]);
  });

  it('believes the tags of a whole row set down one place on, though each hangs in the place of another', () => {
    const shifted = Object.fromEntries(KEYS.map((_, index) => [index + 2, tag(index + 1)]));
    const { proposals } = bench.json<WalkDocument>(1, walked({ 1: 'empty', ...shifted }, 13));
    expect(proposals.map(({ id }) => id)).toEqual(ids.slice(0, 12));
    for (const { probability } of proposals) expect(probability).toBeGreaterThan(0.99);
  });

  it('written twice is written once', () => {
    bench.expect(0, [...walked({}), '--apply']);
    const { written } = bench.json<WalkDocument>(0, [...walked({}), '--apply']);
    expect(written).toMatchObject({ moved: [], voided: [], sighted: 0, doubted: [], change: null });
  });

  it('leaves to the person what is not certain, and exchanged pots without evidence', () => {
    const args = walked({ 2: 'empty', 3: 'none', 6: tag(7), 7: tag(6), 13: tag(3) }, 13);
    const { written } = bench.json<WalkDocument>(1, [...args, '--apply']);
    expect(written?.voided).toEqual([]);
    expect(written?.moved.map(({ id }) => id)).not.toContain(ids[5]);
  });

  it('says how to take a plant that is left', () => {
    const { stdout, stderr } = bench.expect(1, [...walked({ 12: 'empty', 13: 'none' }, 13), '--apply']);
    expect(stdout).toMatch(new RegExp(`What is left:[^]*It is ${ids[11]} `));
    expect(stderr).toContain(`To take one: --accept "${S(13)}=${ids[11]}"`);
  });

  it('records the traits seen under the plants that are certain', () => {
    bench.expect(0, [...walked({ 1: `${tag(1)},seven-lobed` }), '--apply']);
    const { observations } = bench.json<{ observations: Record<string, unknown>[] }>(0, [
      'show',
      ids[0] ?? '',
    ]);
    expect(observations).toMatchObject([
      { date: '2026-10-17', station: S(1), leaf: 'seven-lobed', issue: 1 },
    ]);
    expect(bench.expect(0, ['show', ids[0] ?? '']).stdout).toMatch(/leaf seven-lobed, station bench 1 /);
  });
});

describe('--accept', () => {
  it('writes one proposal: its place, its old tag void, its next queued', () => {
    const args = walked({ 2: 'empty', 3: 'none', 13: tag(3) }, 13);
    const accept = ['--accept', `${S(3)}=${ids[1]}`];
    const { written } = bench.json<WalkDocument>(0, [...args, '--apply', ...accept]);
    expect(written?.voided).toEqual([{ id: ids[1], issue: 1 }]);
    expect(written?.moved).toContainEqual({ id: ids[1], from: S(2), to: S(3) });
    expect(out(bench.json<WalkDocument>(0, args))).toEqual([['awaiting-tag', S(3)]]);
    bench.expect(0, ['check']);
  });

  it('writes that exchanged pots moved', () => {
    const args = walked({ 6: tag(7), 7: tag(6) });
    bench.expect(0, [...args, '--accept', `${S(6)}=${ids[6]}`, '--accept', `${S(7)}=${ids[5]}`]);
    expect(out(bench.json<WalkDocument>(0, args))).toEqual([]);
  });

  const refusals: readonly (readonly [
    what: string,
    accept: (ids: readonly string[]) => string,
    says: RegExp,
  ])[] = [
    ['no "="', () => S(2), /is not a station, "="/],
    ['an ID that is none', () => `${S(2)}=K7F??`, /a whole ID/],
    ['a station without a pot', (all) => `bench 9 / 1=${all[1]}`, /no pot at this station/],
    ['a plant that is not in the ledger', () => `${S(2)}=K7FY5`, /no such plant/],
    ['a pot that is no open question', (all) => `${S(1)}=${all[1]}`, /no open question/],
    ['a plant seen elsewhere', (all) => `${S(2)}=${all[0]}`, /stands at "bench 1/],
  ];
  for (const [what, accept, says] of refusals) {
    it(`refuses ${what}, and writes nothing`, () => {
      const args = walked({ 2: 'none' });
      expect(bench.expect(2, [...args, '--apply', '--accept', accept(ids)]).stderr).toMatch(says);
      expect(bench.json<{ observations: number }>(0, ['check']).observations).toBe(0);
    });
  }
});

describe('a walk that is typed', () => {
  const lines = () =>
    [1, 2, 3].flatMap((place) => [
      `station ${S(place)}`,
      place === 2 ? 'none\nleaf three-lobed' : tag(place),
    ]);

  it('finds what the same walk in a file does, from stdin with or without "-"', () => {
    const input = `${lines().join('\n')}\n`;
    const fromLines = bench.json<WalkDocument>(1, ['walk', ...DAY, '--out', 'kept.csv'], input);
    expect(out(fromLines).filter(([kind]) => kind !== 'not-visited')).toEqual([['tag-missing', S(2)]]);
    const found = bench.json(1, ['walk', '-', ...DAY], input);
    expect(found).toMatchObject({ problems: [] });
    expect(found).toEqual(bench.json(1, ['walk', 'kept.csv', ...DAY]));
  });

  it('answers each line, and ends with 1 if one was not taken', () => {
    const stations = Array.from({ length: 12 }, (_, index) => `station ${S(index + 1)}\n${tag(index + 1)}`);
    const said = bench.expect(1, ['walk', ...DAY], `none\n${stations.join('\n')}\n`);
    expect(said.stdout).toMatch(/line 1: No station is open/);
    expect(said.stdout).toMatch(/12 stations in order/);
    expect(bench.expect(0, ['walk', ...DAY], stations.join('\n')).stdout).toMatch(/12 stations in order/);
  });

  it('is not lost if it cannot be examined', () => {
    const accept = ['--accept', 'bench 9 / 1=K7FY5'];
    const said = bench.expect(2, ['walk', ...DAY, ...accept], lines().join('\n'));
    expect(said.stderr).toContain(`station,scanned,leaf\n${S(1)},${tag(1)},\n${S(2)},none,three-lobed\n`);
  });

  it('from a file needs no --out', () => {
    expect(bench.expect(2, [...walked({}), '--out', 'kept.csv']).stderr).toMatch(/in a file already/);
  });
});

describe('a file that is no walk', () => {
  it('ends with 2 and every problem with its line and column', () => {
    bench.write('bad.csv', 'station,scanned,height_cm\n,none,\nbench 1 / 2,,\nbench 1 / 3,none,tall\n');
    const { problems } = bench.json<{ problems: { line: number; column: string }[] }>(2, ['walk', 'bad.csv']);
    expect(problems.map(({ line, column }) => [line, column])).toEqual([
      [2, 'station'],
      [3, 'scanned'],
      [4, 'height_cm'],
    ]);
    expect(bench.expect(2, ['walk', 'none.csv']).stderr).toMatch(/no file none\.csv/);
    expect(bench.expect(2, ['walk', 'bad.csv', '--date', '2999-01-01']).stderr).toMatch(/future/);
  });

  it('of no ledger ends with 3', () => {
    expect(bench.expect(3, [...walked({}), '--ledger', 'none']).stderr).toMatch(/no ledger in none/);
  });
});

it("the examples' storm: what the walk says, what the grower does, and what is left", () => {
  const garden = makeBench();
  const example = (name: string) => join(EXAMPLES, name);
  for (const [name, ...options] of [
    ['parents.csv'],
    ['seedlings-2023.csv'],
    ['seedlings-2024.csv', '--dates', 'dmy'],
  ]) {
    garden.expect(0, ['enrol', example(name as string), ...options]);
  }
  garden.expect(0, [
    'tags',
    '--untagged',
    '--kind',
    'seedling',
    '--stock',
    'a4-24-64x34',
    '--out',
    'tags.pdf',
  ]);
  garden.expect(0, ['walk', example('walk-spring.csv'), '--date', '2026-04-20', '--apply']);
  const storm = ['walk', example('walk-storm.csv'), '--date', '2026-09-25'];
  const before = garden.json<WalkDocument>(1, storm);
  const count = (kind: string) => before.findings.filter((finding) => finding.kind === kind).length;
  expect(['exchanged', 'moved', 'tag-missing', 'unreadable', 'pot-missing', 'stranger'].map(count)).toEqual([
    3, 1, 3, 1, 5, 1,
  ]);
  expect(before.findings.flatMap(({ what_moved }) => (what_moved === undefined ? [] : [what_moved]))).toEqual(
    ['pots', 'tags', null],
  );
  const undecided = before.proposals.filter(({ proposed }) => !proposed);
  expect(undecided).toMatchObject([{ station: 'bench 2 / row 2 / 11', would_settle: { trait: 'height' } }]);
  const accept = [
    'bench 1 / row 3 / 6=1MS2E',
    'bench 1 / row 4 / 11=FD7GN',
    'bench 2 / row 2 / 11=WT701',
  ].flatMap((settled) => ['--accept', settled]);
  const { written } = garden.json<WalkDocument>(1, [...storm, '--apply', ...accept]);
  expect(written?.voided.map(({ id }) => id).sort()).toEqual(['1MS2E', 'CBB7B', 'FD7GN', 'WT701']);
  garden.expect(0, ['tags', '--queued', '--stock', 'a4-24-64x34', '--out', 'new-tags.pdf']);
  const after = garden.json<WalkDocument>(1, ['walk', example('walk-after.csv'), '--date', '2026-10-02']);
  expect(out(after).map(([kind]) => kind)).toEqual([
    'exchanged',
    'pot-missing',
    'pot-missing',
    'pot-missing',
  ]);
  garden.expect(0, ['check']);
});
