/** `pottag copy` and `pottag merge`: a day in the field, from the copy to the findings at home. */
import { existsSync } from 'node:fs';
import { beforeEach, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

let bench: Bench;
let a: string;
let b: string;
const FIELD = ['--ledger', 'field'];

beforeEach(() => {
  bench = makeBench();
  bench.write('plants.csv', 'key\na\nb\n');
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  [a, b] = plants.map(({ id }) => id) as [string, string];
  bench.expect(0, ['copy', '--for', 'field laptop', '--to', 'field']);
});

it('what was seen in the field is in the ledger at home after merge, once', () => {
  bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30', ...FIELD]);
  bench.expect(0, ['scan', b, '--date', '2026-08-30', ...FIELD], '');
  expect(bench.json<object>(0, ['merge', 'field'])).toEqual({
    device: 'field laptop',
    brought: 1,
    observations: 1,
    known: 0,
    photos: 0,
    findings: [],
  });
  expect(bench.expect(0, ['merge', 'field']).stdout).toMatch(/^Nothing new in the field copy "field laptop"/);
  const { observations } = bench.json<{ observations: object[] }>(0, ['show', a]);
  expect(observations).toMatchObject([{ brix: 18, date: '2026-08-30', by: 'wren' }]);
  bench.expect(0, ['check']);
  bench.expect(0, ['check', ...FIELD]);
});

it('a field copy refuses what is for home, says of which ledger it is, and exits with 2', () => {
  bench.write('more.csv', 'key\nz\n');
  const refused = [
    ['enrol', 'more.csv'],
    ['tags', a, '--stock', 'a4-65-38x21', '--out', 'tags.pdf'],
    ['exchange', a, b, '--since', '2026-08-01'],
  ];
  for (const args of refused) {
    bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30', ...FIELD]);
    const { stderr } = bench.expect(2, [...args, ...FIELD]);
    expect(stderr).toMatch(
      /field copy "field laptop", made on \d{4}-\d\d-\d\d of the ledger in .*pottag-ledger/,
    );
    expect(stderr).toMatch(/Nothing was written/);
  }
  expect(bench.json<{ plants: number }>(0, ['check', ...FIELD])).toMatchObject({ plants: 2, tags: 0 });
  expect(existsSync(bench.file('field/sheets'))).toBe(false);
  expect(bench.expect(2, ['copy', '--for', 'x', '--to', 'y', ...FIELD]).stderr).toMatch(/field copy itself/);
  expect(bench.expect(2, ['merge', 'pottag-ledger', ...FIELD]).stderr).toMatch(/only the one at home/);
  expect(bench.expect(2, ['copy', '--for', 'x', '--to', 'field']).stderr).toMatch(
    /something in field already/,
  );
});

it('findings are told in words and as JSON, with exit code 1, until they are seen to', () => {
  bench.expect(0, ['scan', a, '--alive', 'no', '--date', '2026-08-29']);
  bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30', ...FIELD]);
  expect(bench.expect(1, ['merge', 'field']).stdout).toMatch(
    new RegExp(`\\] ${a}, seen 2026-08-30: it ended 2026-08-29`),
  );
  const { findings } = bench.json<{ findings: { number: number }[] }>(1, ['merge', 'field']);
  expect(findings).toMatchObject([{ kind: 'ended', id: a, date: '2026-08-30', ended: '2026-08-29' }]);
  bench.expect(0, ['undo', String(findings[0]?.number)]);
  bench.expect(0, ['merge', 'field']);
});
