import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { exchangePlants } from '../../src/observe/corrections.js';
import { changeInWords, undo } from '../../src/observe/undo.js';
import { voidTag } from '../../src/sheets/retag.js';
import { ledgerWith, seedling } from '../support/ledger.js';

async function onePlant() {
  const { ledger, ids } = await ledgerWith([seedling('a'), seedling('b')]);
  const plant = await ledger.plant(ids[0] as PlantId);
  if (plant === undefined) throw new Error('a plant');
  return { ledger, plant, id: plant.id, other: ids[1] as PlantId };
}

const issue = (ledger: Ledger, id: PlantId, number: number) =>
  ledger.write('wren', (writer) =>
    writer.append({
      kind: 'tag-issued',
      body: { id, issue: number, stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 },
    }),
  );

const see = (ledger: Ledger, id: PlantId, values: Record<string, string | number>) =>
  ledger.write('wren', (writer) =>
    writer.append({ kind: 'observed', body: { id, issue: null, date: '2026-09-14', values, photo: null } }),
  );

const statuses = async (ledger: Ledger, id: PlantId) => (await ledger.tags(id)).map(({ status }) => status);

describe('undo', () => {
  it('of an observation, named by its entry: it is out of all that is read, and listed as taken back', async () => {
    const { ledger, id } = await onePlant();
    const { id: entry } = await see(ledger, id, { alive: 'no', height: 40 });
    await undo(ledger, entry, 'finch');
    expect(await ledger.observations(id)).toEqual([]);
    expect(await ledger.latestValues([id], '2026-12-31')).toEqual(new Map());
    expect((await ledger.plant(id))?.ended).toBeNull();
    for await (const { observations } of ledger.histories({})) expect(observations).toEqual([]);
    expect(await ledger.withdrawnObservations(id)).toMatchObject([
      { entry, values: { height: 40 }, withdrawn: { by: 'finch', why: 'undone' } },
    ]);
  });

  it('of a tag given up: it is current again, or superseded if the next one was printed', async () => {
    const { ledger, plant, id } = await onePlant();
    await issue(ledger, id, 1);
    const first = await voidTag(ledger, plant, 'lost', 'wren');
    const undone = await undo(ledger, first.change.number, 'wren');
    expect(await statuses(ledger, id)).toEqual(['current']);
    await undo(ledger, undone.change.number, 'wren');
    expect(await statuses(ledger, id)).toEqual(['void']);
    await issue(ledger, id, 2);
    await undo(ledger, first.change.number, 'wren');
    expect(await statuses(ledger, id)).toEqual(['superseded', 'current']);
    expect((await ledger.plants({ queued: true })).length).toBe(0);
  });

  it('of the undo of a tag given up, when it was given up anew: leaves that', async () => {
    const { ledger, plant, id } = await onePlant();
    await issue(ledger, id, 1);
    const first = await voidTag(ledger, plant, 'lost', 'wren');
    const undone = await undo(ledger, first.change.number, 'wren');
    const second = await voidTag(ledger, plant, 'faded', 'wren');
    await expect(undo(ledger, undone.change.number, 'wren')).rejects.toMatchObject({
      code: 'undone-already',
    });
    await undo(ledger, second.change.number, 'wren');
    expect(await statuses(ledger, id)).toEqual(['current']);
  });

  it('of the undo of an exchange, when the two were exchanged anew: refuses', async () => {
    const { ledger, plant, id, other } = await onePlant();
    await see(ledger, id, { brix: 18 });
    const b = await ledger.plant(other);
    if (b === undefined) throw new Error('another plant');
    const asked = { a: plant, b, since: '2026-09-01', until: '2026-09-14', hungBack: true };
    const { change } = await exchangePlants(ledger, asked, 'wren');
    const undone = await undo(ledger, change.number, 'wren');
    await exchangePlants(ledger, { ...asked, since: '2026-09-10' }, 'wren');
    const again = undo(ledger, undone.change.number, 'wren');
    await expect(again).rejects.toMatchObject({ code: 'exchanged-already' });
  });

  it('of what cannot be undone, or was, or is not there: says which, and writes nothing', async () => {
    const { ledger, id } = await onePlant();
    await issue(ledger, id, 1);
    const { number } = await see(ledger, id, { brix: 18 });
    await undo(ledger, number, 'wren');
    const codeOf = (which: number | string) =>
      undo(ledger, which, 'wren').then(
        () => 'none',
        ({ code }: { code: string }) => code,
      );
    const codes = [];
    for (const which of [1, 2, 4, number, 99, '01a2124f-3f33-72d9-8917-36729c1c073a']) {
      codes.push(await codeOf(which));
    }
    expect(codes).toEqual([
      'cannot-undo',
      'cannot-undo',
      'cannot-undo',
      'undone-already',
      'no-such-change',
      'no-such-change',
    ]);
  });
});

it('changes are listed latest first, those in a group as one, those undone not', async () => {
  const { ledger, plant, id } = await onePlant();
  await issue(ledger, id, 1);
  const kept = await see(ledger, id, { brix: 18 });
  const gone = await see(ledger, id, { brix: 19 });
  await voidTag(ledger, plant, 'faded', 'wren');
  await ledger.write('wren', async (writer) => {
    for (const brix of [1, 2]) {
      const body = { id, issue: null, date: '2026-09-14', values: { brix }, photo: null };
      await writer.append({ kind: 'observed', body });
    }
    await writer.append({ kind: 'changed', body: { what: 'walk', words: 'a walk', entries: 2 } });
  });
  await undo(ledger, gone.number, 'wren');
  const words = async (limit: number) => (await ledger.changes(limit)).map(changeInWords);
  expect(await words(10)).toEqual([
    `undo of ${gone.number}: seen on ${id} on 2026-09-14: brix 19 °Bx`,
    'a walk',
    `tag ${id}.1 given up (faded)`,
    `seen on ${id} on 2026-09-14: brix 18 °Bx`,
  ]);
  expect(await words(1)).toHaveLength(1);
  // One of the group by itself, then what is left of it.
  const [, walk] = await ledger.changes(10);
  const [first] = walk?.entries ?? [];
  expect(first?.number).toBe(kept.number + 3);
  await undo(ledger, first?.number ?? 0, 'wren');
  expect(await undo(ledger, walk?.number ?? 0, 'wren')).toMatchObject({ withdrawn: 1 });
  expect((await ledger.observations(id)).map(({ values }) => values.brix)).toEqual([18]);
});
