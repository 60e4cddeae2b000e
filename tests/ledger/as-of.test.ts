import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { judgeType } from '../../src/breeding/fig-types.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import { viewAsOf } from '../../src/ledger/as-of.js';
import type { LedgerReader, LedgerWriter } from '../../src/ledger/ledger.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, freshFolder, seedling } from '../support/ledger.js';

/** All that `show` tells of a plant; its type follows from its parents and siblings too. */
async function told(ledger: LedgerReader, id: PlantId) {
  const plant = await ledger.plant(id);
  return {
    plant,
    type: plant === undefined ? undefined : await judgeType(ledger, plant),
    tags: await ledger.tags(id),
    observations: await ledger.observations(id),
    withdrawn: await ledger.withdrawnObservations(id),
    doubts: await ledger.doubts(id),
    offspring: await ledger.plantsFrom(id),
  };
}

it('the view as of the end of a day is what the ledger told on that day', async () => {
  let day = 1;
  const clock = () => new Date(Date.UTC(2026, 8, day, 12));
  const ledger = await createLedger(join(freshFolder(), 'ledger'), 5, 'wren', clock);
  onTestFinished(() => ledger.close());
  const ids = await ledger.write('wren', (writer) =>
    enrolInto(
      writer,
      5,
      ['a', 'b', 'c', 'd'].map((key) => seedling(key, { station: `bench 1 / ${key}`, pollenParent: 'e' })),
    ),
  );
  const [a, b, c, d] = ids as [PlantId, PlantId, PlantId, PlantId];
  const entries: string[] = [];
  const see = async (writer: LedgerWriter, id: PlantId, values: Record<string, string | number>) => {
    const body = { id, issue: 1, date: '2026-09-01', values, photo: null };
    entries.push((await writer.append({ kind: 'observed', body })).id);
  };
  const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
  const days: readonly ((writer: LedgerWriter) => Promise<unknown>)[] = [
    async (writer) => {
      for (const id of ids) await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } });
      await see(writer, a, { brix: 1 });
      await see(writer, b, { brix: 2, alive: 'no' });
      await see(writer, d, { brix: 4 });
    },
    (writer) => see(writer, c, { brix: 3, station: 'bench 2 / 1' }),
    (writer) =>
      writer.append({ kind: 'doubted', body: { plants: [a, b, c], after: null, until: '2026-09-03' } }),
    (writer) =>
      writer.append({ kind: 'exchanged', body: { a, b, since: '2026-09-01', until: '2026-09-04' } }),
    (writer) =>
      writer.append({ kind: 'exchanged', body: { a: c, b, since: '2026-09-01', until: '2026-09-05' } }),
    (writer) => writer.append({ kind: 'reassigned', body: { entry: entries[0] as string, id: d } }),
    (writer) => writer.append({ kind: 'withdrawn', body: { entry: entries[1] as string, why: 'a slip' } }),
    (writer) => writer.append({ kind: 'tag-voided', body: { id: a, issue: 1, why: 'exchanged' } }),
    (writer) => writer.append({ kind: 'plant-amended', body: { id: c, changes: { note: 'leans' } } }),
    (writer) => enrolInto(writer, 5, [seedling('f', { kind: 'cutting', origin: a })]),
    (writer) => see(writer, b, { fruit: 'ripe', inside: 'stamens', wood: 'new', pollination: 'none' }),
    (writer) => enrolInto(writer, 5, [seedling('e', { kind: 'parent', type: 'persistent caprifig' })]),
    (writer) => writer.append({ kind: 'restored', body: { entry: entries[1] as string } }),
  ];
  const snapshots = new Map<number, Awaited<ReturnType<typeof told>>[]>();
  for (const work of days) {
    day++;
    await ledger.write('wren', work);
    const views = [];
    for (const id of ids) views.push(await told(ledger, id));
    snapshots.set(day, views);
  }
  expect(snapshots.size).toBe(days.length);
  const types = [...snapshots.values()].map(([first]) => JSON.stringify(first?.type?.posterior));
  expect(new Set(types).size).toBe(3); // Told by a sibling, then by the pollen parent.
  for (const [on, views] of snapshots) {
    for (const [index, id] of ids.entries()) {
      const view = viewAsOf(ledger.folder, 5, new Date(Date.UTC(2026, 8, on + 1)));
      expect(await told(view, id), `${id} on 2026-09-${on}`).toEqual(views[index]);
      view.close();
    }
  }
  const early = viewAsOf(ledger.folder, 5, new Date(Date.UTC(2026, 8, 1)));
  expect(await early.plant(a)).toBeUndefined();
  early.close();
});
