/** `pottag copy` and `pottag merge` killed at any step: the ledger at home is sound, and once more brings all home once. */
import { cpSync, existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { keepFile } from '../../src/ledger/kept-files.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { readJournal } from '../../src/ledger/transfer.js';
import { run } from '../faults/rounds.js';
import { freshFolder, ledgerWith, NOON, seedling } from '../support/ledger.js';

/** Steps of `args` in a fresh copy of `folder`, some of them to be killed before. */
async function stepsOf(args: readonly string[], fresh: () => string): Promise<number[]> {
  const countTo = join(freshFolder(), 'steps');
  await run(fresh(), { args }, undefined, { env: { STEPS_COUNT_TO: countTo } });
  const count = Number(readFileSync(countTo, 'utf8'));
  return Array.from({ length: 8 }, (_, nth) => 1 + Math.floor((nth * (count - 1)) / 7));
}

it('killed at any step, they are done once more, whole', async () => {
  const { ledger, ids } = await ledgerWith([seedling('a')]);
  const [id] = ids;
  if (id === undefined) throw new Error('a plant');
  ledger.close();
  const place = freshFolder();
  const freshHome = () => {
    const folder = join(freshFolder(), 'home');
    cpSync(ledger.folder, folder, { recursive: true });
    return folder;
  };
  const copyTo = (target: string) => ['copy', '--for', 'laptop', '--to', target, '--ledger', '.'];
  for (const step of await stepsOf(copyTo(join(place, 'counted')), freshHome)) {
    const [home, target] = [freshHome(), join(freshFolder(), 'copy')];
    expect((await run(home, { args: copyTo(target) }, { beforeStep: step })).signal).toBe('SIGKILL');
    if (!existsSync(target)) expect((await run(home, { args: copyTo(target) })).status).toBe(0);
    expect(checkLedger(target, () => {})).toMatchObject({ entries: 3, findings: [] });
  }
  const copy = join(place, 'counted');
  const photo = keepFile(copy, 'photos', Buffer.from('a picture'), 'jpg');
  const field = openLedger(copy, NOON);
  for (const brix of [17, 18]) {
    const body = { id, issue: null, date: '2026-09-14', values: { brix }, photo };
    await field.write('finch', (writer) => writer.append({ kind: 'observed', body }));
  }
  field.close();
  const merge = ['merge', copy, '--ledger', '.'];
  const lengths = new Set<number>();
  for (const step of await stepsOf(merge, freshHome)) {
    const home = freshHome();
    expect((await run(home, { args: merge }, { beforeStep: step })).signal).toBe('SIGKILL');
    lengths.add([...readJournal(home)].length);
    expect((await run(home, { args: merge })).status).toBe(0);
    expect(checkLedger(home, () => {})).toMatchObject({ entries: 5, observations: 2, findings: [] });
  }
  // Not at all, or whole.
  expect([2, 5]).toEqual(expect.arrayContaining([...lengths]));
  expect(lengths).toContain(2);
}, 120_000);
