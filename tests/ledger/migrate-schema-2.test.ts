/** A ledger of schema 2 (see fixtures/README.md), before there were field copies, opened by this Pottag. */
import { cpSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { freshFolder, NOON } from '../support/ledger.js';

it('a ledger of schema 2 tells what it told, keeps a copy of itself, and passes check', async () => {
  const folder = join(freshFolder(), 'ledger');
  cpSync(join(import.meta.dirname, '../fixtures/ledger-schema-2'), folder, { recursive: true });
  const ledger = openLedger(folder, NOON);
  const [a, b] = await ledger.plants({});
  if (a === undefined || b === undefined) throw new Error('two plants');
  expect([a.ended, b.ended]).toEqual([null, null]);
  // In the order of the fixture's journal; what was seen on the tenth changed places.
  expect((await ledger.observations(a.id)).map(({ values }) => values)).toEqual([
    { alive: 'no' },
    { alive: 'yes', brix: 17 },
    { brix: 18.5 },
  ]);
  expect(await ledger.observations(b.id)).toEqual([]);
  expect(await ledger.withdrawnObservations(b.id)).toMatchObject([{ values: { alive: 'no' } }]);
  expect(await ledger.fieldCopy()).toBeUndefined();
  ledger.close();
  expect(existsSync(join(folder, 'before-format-3.sqlite'))).toBe(true);
  expect(checkLedger(folder, () => {})).toMatchObject({ entries: 9, plants: 2, findings: [] });
});
