import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { checkLedger } from '../../src/ledger/check.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { exchangePlants, reassign, type ToExchange } from '../../src/observe/corrections.js';
import { undo } from '../../src/observe/undo.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TODAY = '2026-09-14';

/** Three plants at their stations, each with issue 1 of its tag. */
async function garden() {
  const fields = ['a', 'b', 'c'].map((key, index) =>
    seedling(key, { station: `bench 1 / row 1 / ${index + 1}`, sown: '2024-02' }),
  );
  const { ledger, ids } = await ledgerWith(fields);
  const [a, b, c] = ids;
  if (a === undefined || b === undefined || c === undefined) throw new Error('three plants');
  await ledger.write('wren', async (writer) => {
    for (const [column, id] of ids.entries()) {
      const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: column + 1 };
      await writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } });
    }
  });
  return { ledger, a, b, c };
}

interface Sight {
  readonly date: string;
  readonly values: Record<string, string | number>;
  readonly withoutTag?: true;
}

function see(ledger: Ledger, id: PlantId, sight: Sight) {
  return ledger.write('wren', (writer) =>
    writer.append({ kind: 'observed', body: { id, issue: 1, photo: null, ...sight } }),
  );
}

async function asked(ledger: Ledger, a: PlantId, b: PlantId, more: Partial<ToExchange> = {}) {
  const [first, second] = [await ledger.plant(a), await ledger.plant(b)];
  if (first === undefined || second === undefined) throw new Error('two plants');
  return { a: first, b: second, since: '2026-06-01', until: TODAY, hungBack: false, ...more };
}

async function record(ledger: Ledger, id: PlantId) {
  return {
    plant: await ledger.plant(id),
    tags: await ledger.tags(id),
    seen: await ledger.observations(id),
    doubts: await ledger.doubts(id),
  };
}

const brixOf = async (ledger: Ledger, id: PlantId) =>
  (await ledger.observations(id)).map(({ values }) => values.brix);

describe('exchangePlants', () => {
  it('lets what was seen from that day on change places, and gives up both tags', async () => {
    const { ledger, a, b } = await garden();
    await see(ledger, a, { date: '2026-05-31', values: { brix: 1 } });
    await see(ledger, a, { date: '2026-06-01', values: { brix: 2 } });
    await see(ledger, b, { date: '2026-07-01', values: { brix: 3 } });
    await see(ledger, b, { date: '2026-08-01', values: { alive: 'no' } });
    const done = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    expect(done).toMatchObject({
      moved: { fromA: 1, fromB: 2 },
      voided: [
        { id: a, issue: 1 },
        { id: b, issue: 1 },
      ],
      a: { id: a, ended: '2026-08-01' },
      b: { id: b, ended: null },
    });
    expect(await brixOf(ledger, a)).toEqual([1, 3, undefined]);
    expect(await brixOf(ledger, b)).toEqual([2]);
    expect((await ledger.observations(b))[0]?.recordedAs).toBe(a);
    expect(await ledger.tags(a)).toMatchObject([{ status: 'void', voidedBecause: 'exchanged' }]);
    expect((await ledger.plants({ queued: true })).map(({ id }) => id)).toEqual([a, b]);
  });

  it('undone, leaves everything as it was, and undone again, everything as it made it', async () => {
    const { ledger, a, b } = await garden();
    await see(ledger, a, { date: '2026-06-01', values: { brix: 2, station: 'bench 1 / row 1 / 2' } });
    await see(ledger, b, { date: '2026-08-01', values: { alive: 'no' } });
    const before = [await record(ledger, a), await record(ledger, b)];
    const { change } = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    const after = [await record(ledger, a), await record(ledger, b)];
    const undone = await undo(ledger, change.number, 'wren');
    expect([await record(ledger, a), await record(ledger, b)]).toEqual(before);
    expect(undone).toMatchObject({ withdrawn: 3, restored: 0 });
    await undo(ledger, undone.change.id, 'wren');
    expect([await record(ledger, a), await record(ledger, b)]).toEqual(after);
    expect(checkLedger(ledger.folder, () => {}).findings).toEqual([]);
  });

  it('with the tags hung back, keeps them, and what was seen after that day', async () => {
    const { ledger, a, b } = await garden();
    await see(ledger, a, { date: '2026-07-01', values: { brix: 1 } });
    await see(ledger, a, { date: '2026-07-02', values: { brix: 2 } });
    const days = { until: '2026-07-01', hungBack: true };
    const { voided } = await exchangePlants(ledger, await asked(ledger, a, b, days), 'wren');
    expect(voided).toEqual([]);
    expect(await ledger.tags(a)).toMatchObject([{ status: 'current' }]);
    expect(await brixOf(ledger, a)).toEqual([2]);
    expect(await brixOf(ledger, b)).toEqual([1]);
  });

  // The pots went back by their tags, so each stood in the other's place; a walk found both "in place".
  it('puts each plant where its own pot was seen last', async () => {
    const { ledger, a, b } = await garden();
    await see(ledger, a, { date: '2026-07-01', values: { station: 'bench 1 / row 1 / 1' } });
    await see(ledger, b, { date: '2026-07-01', values: { station: 'bench 1 / row 1 / 2' } });
    const done = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    expect([done.a.station, done.b.station]).toEqual(['bench 1 / row 1 / 2', 'bench 1 / row 1 / 1']);
  });

  // Only the place of a was walked, where the tag of b hung; b was taken for moved.
  it('puts a plant back whose sighting was the other one', async () => {
    const { ledger, a, b } = await garden();
    await see(ledger, b, { date: '2026-07-01', values: { station: 'bench 1 / row 1 / 1' } });
    expect((await ledger.plant(b))?.station).toBe('bench 1 / row 1 / 1');
    const done = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    expect([done.a.station, done.b.station]).toEqual(['bench 1 / row 1 / 1', 'bench 1 / row 1 / 2']);
  });

  it('leaves where a plant was known without its tag, and what a CSV said since', async () => {
    const { ledger, a, b } = await garden();
    const there = { station: 'bench 1 / row 1 / 9' };
    await see(ledger, a, { date: '2026-07-01', values: there, withoutTag: true });
    await see(ledger, b, { date: '2026-07-01', values: { station: 'bench 1 / row 1 / 8' } });
    await ledger.write('wren', (writer) =>
      writer.append({ kind: 'plant-amended', body: { id: b, changes: { station: 'shed' } } }),
    );
    const done = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    expect(done.moved).toEqual({ fromA: 0, fromB: 1 });
    expect(done.b.station).toBe('shed');
    // Later in the journal than its own sighting, on the same day.
    expect(done.a.station).toBe('bench 1 / row 1 / 8');
    expect((await ledger.observations(a)).map(({ values }) => values.station)).toEqual([
      'bench 1 / row 1 / 9',
      'bench 1 / row 1 / 8',
    ]);
  });

  it('settles a doubt about the two, and one of three only with a second exchange', async () => {
    const { ledger, a, b, c } = await garden();
    await see(ledger, a, { date: '2026-06-02', values: { brix: 1 } });
    await see(ledger, a, { date: '2026-05-01', values: { brix: 2 } });
    await ledger.write('wren', async (writer) => {
      const until = TODAY;
      await writer.append({ kind: 'doubted', body: { plants: [a, b], after: '2026-05-01', until } });
      await writer.append({ kind: 'doubted', body: { plants: [a, b, c], after: null, until } });
    });
    const doubtful = async (id: PlantId) =>
      (await ledger.observations(id)).map(({ values, doubtful: is }) => [values.brix, is]);
    expect(await doubtful(a)).toEqual([
      [2, true],
      [1, true],
    ]);
    const first = await exchangePlants(ledger, await asked(ledger, a, b), 'wren');
    expect(first.settled).toBe(1);
    expect(await ledger.doubts(a)).toMatchObject([{ plants: [a, b, c], after: null }]);
    const second = await exchangePlants(ledger, await asked(ledger, b, c), 'wren');
    expect(second.settled).toBe(1);
    for (const id of [a, b, c]) expect((await doubtful(id)).filter(([, is]) => is)).toEqual([]);
    await undo(ledger, second.change.number, 'wren');
    expect(await ledger.doubts(c)).toHaveLength(1);
  });

  it('for nothing but a doubt, is enough', async () => {
    const { ledger, a, b } = await garden();
    await ledger.write('wren', (writer) =>
      writer.append({ kind: 'doubted', body: { plants: [a, b], after: null, until: TODAY } }),
    );
    const done = await exchangePlants(ledger, await asked(ledger, a, b, { hungBack: true }), 'wren');
    expect(done).toMatchObject({ moved: { fromA: 0, fromB: 0 }, voided: [], settled: 1 });
  });

  const refusals: readonly (readonly [
    code: string,
    prepare: (ledger: Ledger, a: PlantId, b: PlantId) => Promise<unknown>,
    more: Partial<ToExchange>,
  ])[] = [
    ['nothing-to-exchange', async () => {}, { hungBack: true }],
    ['before-sowing', async () => {}, { since: '2023-01-01' }],
    ['bad-days', async () => {}, { until: '2026-05-31' }],
    [
      'plant-ended',
      (ledger, a) => see(ledger, a, { date: '2026-05-31', values: { alive: 'no' } }),
      { hungBack: true },
    ],
    [
      'exchanged-already',
      async (ledger, a, b) => exchangePlants(ledger, await asked(ledger, b, a), 'wren'),
      { since: TODAY },
    ],
  ];
  for (const [code, prepare, more] of refusals) {
    it(`refuses with ${code}, and writes nothing`, async () => {
      const { ledger, a, b } = await garden();
      await prepare(ledger, a, b);
      const { entries } = checkLedger(ledger.folder, () => {});
      const exchanging = exchangePlants(ledger, await asked(ledger, a, b, more), 'wren');
      await expect(exchanging).rejects.toMatchObject({ name: 'InputError', code });
      expect(checkLedger(ledger.folder, () => {}).entries).toBe(entries);
    });
  }

  it('refuses a plant with itself', async () => {
    const { ledger, a } = await garden();
    const exchanging = exchangePlants(ledger, await asked(ledger, a, a), 'wren');
    await expect(exchanging).rejects.toMatchObject({ code: 'same-plant' });
  });
});

describe('reassign', () => {
  it('puts one observation under another plant, where later exchanges leave it', async () => {
    const { ledger, a, b, c } = await garden();
    const { id } = await see(ledger, a, { date: '2026-07-01', values: { brix: 1 } });
    const [to] = await ledger.plantsByIds([b]);
    if (to === undefined) throw new Error('a plant');
    const { change } = await reassign(ledger, id, to, 'wren');
    expect(await brixOf(ledger, b)).toEqual([1]);
    await exchangePlants(ledger, await asked(ledger, b, c), 'wren');
    expect(await brixOf(ledger, b)).toEqual([1]);
    await undo(ledger, change.number, 'wren');
    expect(await brixOf(ledger, a)).toEqual([1]);
  });

  it('refuses what is no observation, what was taken back, its own plant, a day before sowing', async () => {
    const { ledger, a } = await garden();
    const early = await see(ledger, a, { date: '2024-03-01', values: { note: 'x' } });
    const gone = await see(ledger, a, { date: '2026-07-01', values: { note: 'y' } });
    await undo(ledger, gone.number, 'wren');
    const [young] = await ledger.write('wren', async (writer) => {
      const body = { number: 4, id: 'JS3ZV' as PlantId, ...seedling('d', { sown: '2025' }) };
      await writer.append({ kind: 'plant-enrolled', body });
      return writer.plantsByKeys(['d']);
    });
    const [own] = await ledger.plantsByIds([a]);
    if (young === undefined || own === undefined) throw new Error('two plants');
    const codeOf = (entry: number | string, to: typeof own) =>
      reassign(ledger, entry, to, 'wren').then(
        () => 'none',
        ({ code }: { code: string }) => code,
      );
    expect(await codeOf(2, young)).toBe('no-such-observation');
    expect(await codeOf(999, young)).toBe('no-such-observation');
    expect(await codeOf(gone.id, young)).toBe('no-such-observation');
    expect(await codeOf(early.id, own)).toBe('same-plant');
    expect(await codeOf(early.id, young)).toBe('before-sowing');
  });
});
