/** A clock that is put back, as a laptop's is whose battery was empty: the order of the journal counts, not the time in it. */
import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { viewAsOf } from '../../src/ledger/as-of.js';
import { checkLedger } from '../../src/ledger/check.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { undo } from '../../src/observe/undo.js';
import { enrolInto, freshFolder, seedling } from '../support/ledger.js';

it('entries keep their order, what is shown goes by the days of the observations, and undo by the journal', async () => {
  const days = ['2026-09-14', '2026-09-15', '1970-01-01', '2026-09-16', '2000-01-01'];
  let day = 0;
  const clock = () => new Date(`${days[Math.min(day++, days.length - 1)]}T12:00:00Z`);
  const folder = join(freshFolder(), 'ledger');
  const ledger = await createLedger(folder, 5, 'wren', clock);
  onTestFinished(() => ledger.close());
  const [id] = await ledger.write('wren', (writer) => enrolInto(writer, 5, [seedling('a')]));
  if (id === undefined) throw new Error('a plant');
  const see = (date: string, brix: number) =>
    ledger.write('wren', (writer) =>
      writer.append({ kind: 'observed', body: { id, issue: null, date, values: { brix }, photo: null } }),
    );
  await see('2026-09-15', 15); // At the beginning of 1970, as the clock has it.
  await see('2026-09-13', 13);
  await see('2026-09-14', 14); // In 2000.
  const brixes = async () => (await ledger.observations(id)).map(({ values }) => values.brix);
  expect(await brixes()).toEqual([13, 14, 15]);
  const changes = await ledger.changes(3);
  expect(changes.map(({ number }) => number)).toEqual([5, 4, 3]);
  expect(changes.map(({ at }) => at.slice(0, 4))).toEqual(['2000', '2026', '1970']);
  await undo(ledger, 5, 'wren');
  expect(await brixes()).toEqual([13, 15]);
  expect(checkLedger(folder, () => {}).findings).toEqual([]);
  // As of a day is as of the last entry that was written up to then, whatever the clock said before it.
  const view = viewAsOf(folder, 5, new Date('2026-09-17T00:00:00Z'));
  expect((await view.observations(id)).map(({ values }) => values.brix)).toEqual([13, 15]);
  view.close();
});
