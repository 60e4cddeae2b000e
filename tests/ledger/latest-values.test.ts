import { expect, it } from 'vitest';
import { ledgerWith, seedling } from '../support/ledger.js';

it('the latest value of each trait counts, by its day and then by its entry', async () => {
  const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b'), seedling('c')]);
  const [a, b, c] = ids;
  if (a === undefined || b === undefined || c === undefined) throw new Error('three plants');
  await ledger.write('wren', async (writer) => {
    const see = (id: typeof a, date: string, values: Record<string, string | number>) =>
      writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
    await see(a, '2026-05-01', { height: 40, leaf: 'unlobed' });
    await see(a, '2026-09-01', { height: 62.5 });
    await see(a, '2026-09-01', { height: 63 });
    await see(a, '2026-04-01', { height: 10, leaf: 'five-lobed' });
    await see(b, '2026-04-01', { leaf: 'five-lobed' });
  });
  const latest = await ledger.latestValues(ids, '2026-12-31');
  expect(latest.get(a)).toEqual(
    new Map<string, object>([
      ['height', { value: 63, date: '2026-09-01' }],
      ['leaf', { value: 'unlobed', date: '2026-05-01' }],
    ]),
  );
  expect(latest.get(b)).toEqual(new Map([['leaf', { value: 'five-lobed', date: '2026-04-01' }]]));
  expect(latest.has(c)).toBe(false);
  const before = await ledger.latestValues(ids, '2026-08-31');
  expect(before.get(a)).toEqual(
    new Map<string, object>([
      ['height', { value: 40, date: '2026-05-01' }],
      ['leaf', { value: 'unlobed', date: '2026-05-01' }],
    ]),
  );
});
