/** An entry whose ID was made by whoever sends it: it is in the journal once, however often it is sent. */
import { v7 as timeOrderedUuid } from 'uuid';
import { describe, expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { recordSeen } from '../../src/observe/observation.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const send = (ledger: Ledger, entryId: string, brix: number) =>
  ledger.write('wren', async (writer) => {
    const [plant] = await writer.plants({});
    if (plant === undefined) throw new Error('one plant');
    const seen = { date: '2026-09-14', values: { brix }, photo: null };
    return recordSeen(writer, { plant, issue: null }, seen, entryId);
  });

describe('an entry with an ID of its sender', () => {
  it('has that ID, and the ledger is sound', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const entryId = timeOrderedUuid();
    expect((await send(ledger, entryId, 18)).entry).toBe(entryId);
    expect((await ledger.observations(ids[0] as never)).map(({ entry }) => entry)).toEqual([entryId]);
    expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
  });

  it('is refused a second time, and nothing of that is written', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    const entryId = timeOrderedUuid();
    await send(ledger, entryId, 18);
    await expect(send(ledger, entryId, 19)).rejects.toThrow(/UNIQUE/);
    expect((await ledger.observations(ids[0] as never)).map(({ values }) => values.brix)).toEqual([18]);
    await send(ledger, timeOrderedUuid(), 20);
    expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
  });
});
