import { describe, expect, it } from 'vitest';
import { rankKeepers } from '../../src/breeding/keepers.js';
import { idOfNumber } from '../../src/ids/allocation.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues, PlantFields } from '../../src/ledger/model.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TODAY = '2026-11-01';

async function see(
  ledger: Ledger,
  id: PlantId | undefined,
  date: string,
  values: ObservedValues,
  by = 'wren',
): Promise<void> {
  if (id === undefined) throw new Error('no such plant');
  await ledger.write(by, (writer) =>
    writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } }),
  );
}

const brother = (key: string, seedParent = 'Hollow Amber', fields: Partial<PlantFields> = {}) =>
  seedling(key, { seedParent, pollenParent: 'Marl', ...fields });

async function rankedKeys(ledger: Ledger, weights = {}): Promise<string[]> {
  const { crops } = await rankKeepers(ledger, TODAY, weights, 20);
  return crops[0]?.ranking.map(({ plant }) => plant.key) ?? [];
}

describe('keepers', () => {
  it('one splendid fruit counts for less than many good ones', async () => {
    const { ledger, ids } = await ledgerWith([
      brother('once'),
      brother('often'),
      brother('poor'),
      brother('mean'),
    ]);
    const [once, often, poor, mean] = ids;
    await see(ledger, once, '2026-09-01', { liking: 9 });
    const fruits = [
      [often, [9, 7, 8, 9, 7, 8]],
      [poor, [7, 5, 6, 4, 8, 6]],
      [mean, [8, 4, 7, 5, 8, 6]],
    ] as const;
    for (const [id, likings] of fruits) {
      for (const [day, liking] of likings.entries()) await see(ledger, id, `2026-09-0${day + 2}`, { liking });
    }
    const { crops } = await rankKeepers(ledger, TODAY, {}, 20);
    expect(crops[0]?.ranking[0]?.plant.key).toBe('often');
    const estimateOf = (key: string) =>
      crops[0]?.ranking.find(({ plant }) => plant.key === key)?.estimates[0];
    expect(estimateOf('once')?.value).toBeLessThan(8);
    expect(estimateOf('once')?.standardError).toBeGreaterThan(estimateOf('often')?.standardError as number);
  });

  it('a plant measured once in a good family stands before one measured once in a poor family', async () => {
    const plants = ['Hollow Amber', 'Marl Grey', 'Old Dray'].flatMap((parent) =>
      Array.from({ length: 6 }, (_, index) => brother(`${parent} ${index}`, parent)),
    );
    const { ledger, ids } = await ledgerWith(plants);
    for (const [index, id] of ids.entries()) {
      const level = [22, 16, 19][Math.floor(index / 6)] as number;
      const own = index % 6 === 0 ? 19 : level + (index % 3) - 1;
      for (const day of index % 6 === 0 ? ['01'] : ['01', '08', '15']) {
        await see(ledger, id, `2026-09-${day}`, { brix: own });
      }
    }
    const keys = await rankedKeys(ledger, { brix: 1, liking: 0 });
    expect(keys.indexOf('Hollow Amber 0')).toBeLessThan(keys.indexOf('Old Dray 0'));
    expect(keys.indexOf('Old Dray 0')).toBeLessThan(keys.indexOf('Marl Grey 0'));
  });

  it('does not hold a hard taster against the plants he tasted', async () => {
    const plants = Array.from({ length: 8 }, (_, index) => brother(`s${index}`));
    const { ledger, ids } = await ledgerWith(plants);
    // All plants alike but s0, which is better by 2; the hard taster gives 3 less and tasted only the first four
    // often, the mild one the last four.
    for (const [index, id] of ids.entries()) {
      const worth = index === 0 ? 8 : 6;
      const [often, once] = index < 4 ? ['hard', 'mild'] : ['mild', 'hard'];
      for (const [by, days] of [
        [often, ['01', '05', '09']],
        [once, ['13']],
      ] as const) {
        for (const day of days)
          await see(ledger, id, `2026-09-${day}`, { liking: by === 'hard' ? worth - 3 : worth }, by);
      }
    }
    const keys = await rankedKeys(ledger);
    expect(keys[0]).toBe('s0');
    const { crops } = await rankKeepers(ledger, TODAY, {}, 20);
    const values = crops[0]?.ranking.slice(1).map(({ estimates }) => estimates[0]?.value as number) ?? [];
    expect(Math.max(...values) - Math.min(...values)).toBeLessThan(0.01);
  });

  it('a family without any spread gives everyone the mean, and divides by nothing', async () => {
    const { ledger, ids } = await ledgerWith([brother('a'), brother('b'), brother('c')]);
    for (const id of ids)
      for (const day of ['01', '02']) await see(ledger, id, `2026-09-${day}`, { brix: 18 });
    const { crops } = await rankKeepers(ledger, TODAY, {}, 20);
    for (const { score, estimates } of crops[0]?.ranking ?? []) {
      expect(Math.abs(score)).toBeLessThan(1e-6);
      expect(estimates[1]?.value).toBeCloseTo(18, 6);
    }
    expect(crops[0]?.ranking).toHaveLength(3);
  });

  it('counts what was seen on cuttings, names keepers with their living cuttings, and ranks no parent', async () => {
    const plants = [
      seedling('Hollow Amber', { kind: 'parent' }),
      brother('s'),
      brother('t'),
      seedling('cutting 1', { kind: 'cutting', origin: idOfNumber(2, 5) }),
      seedling('cutting of it', { kind: 'cutting', origin: idOfNumber(4, 5) }),
    ];
    const { ledger, ids } = await ledgerWith(plants);
    const [parent, s, t, first, second] = ids;
    await see(ledger, parent, '2026-09-01', { brix: 30 });
    await see(ledger, second, '2026-09-01', { brix: 25 });
    await see(ledger, t, '2026-09-01', { brix: 15 });
    await see(ledger, s, '2026-09-02', { keep: 'yes', name: 'Hollow Lamp' });
    await see(ledger, first, '2026-10-02', { alive: 'no' });
    const { crops, named } = await rankKeepers(ledger, TODAY, {}, 20);
    expect(crops[0]?.ranking.map(({ plant }) => plant.key)).toEqual(['s', 't']);
    expect(crops[0]?.ranking[0]).toMatchObject({ keep: 'yes', name: 'Hollow Lamp' });
    expect(crops[0]?.ranking[0]?.estimates[1]?.measurements).toBe(1);
    expect(named).toHaveLength(1);
    expect(named[0]).toMatchObject({ name: 'Hollow Lamp', since: '2026-09-02' });
    expect(named[0]?.cuttings.map(({ id }) => id)).toEqual([second]);
  });

  it('leaves out the dead and the caprifigs, and ranks each crop by itself', async () => {
    const pear = { extra: { Crop: 'pear' } };
    const { ledger, ids } = await ledgerWith([
      brother('dead'),
      brother('caprifig'),
      brother('fig'),
      brother('pear', 'Wether', pear),
    ]);
    const [dead, caprifig, fig, pearId] = ids;
    await see(ledger, dead, '2025-09-01', { brix: 20 });
    await see(ledger, dead, '2026-01-01', { alive: 'no' });
    for (const year of ['2025', '2026'])
      await see(ledger, caprifig, `${year}-07-01`, { fruit: 'ripe', inside: 'stamens' });
    await see(ledger, fig, '2026-09-01', { brix: 18 });
    await see(ledger, pearId, '2026-09-01', { brix: 13, fruit: 'ripe', wood: 'old' });
    const { crops } = await rankKeepers(ledger, TODAY, {}, 20);
    expect(crops.map(({ crop, ranking }) => [crop.name, ranking.map(({ plant }) => plant.key)])).toEqual([
      ['fig', ['fig']],
      ['pear', ['pear']],
    ]);
    expect(crops[0]?.caprifigs).toBe(1);
  });

  it('has frost take no blame for a plant', async () => {
    const { ledger, ids } = await ledgerWith([brother('frosted'), brother('drops')]);
    for (const [index, id] of ids.entries()) {
      await see(ledger, id, '2026-08-01', { fruit: 'ripe' });
      if (index === 0) await see(ledger, id, '2026-09-01', { weather: 'frost' });
      for (const day of ['02', '06', '10']) await see(ledger, id, `2026-09-${day}`, { fruit: 'dropped' });
    }
    expect(await rankedKeys(ledger, { held: 1 })).toEqual(['frosted', 'drops']);
  });

  it('counts no fruit as held that was pollinated by hand', async () => {
    const { ledger, ids } = await ledgerWith([brother('drops'), brother('holds half')]);
    const [drops, half] = ids;
    for (const day of ['01', '02', '03', '04', '05', '06'])
      await see(ledger, drops, `2026-09-${day}`, { fruit: 'ripe', pollination: 'hand' });
    for (const day of ['10', '11', '12']) {
      await see(ledger, drops, `2026-08-${day}`, { fruit: 'dropped', pollination: 'none' });
      await see(ledger, half, `2026-08-${day}`, { fruit: 'dropped', pollination: 'none' });
      await see(ledger, half, `2026-09-${day}`, { fruit: 'ripe', pollination: 'none' });
    }
    expect(await rankedKeys(ledger, { held: 1 })).toEqual(['holds half', 'drops']);
  });
});
