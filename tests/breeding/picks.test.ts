import { describe, expect, it } from 'vitest';
import { type Picks, picksBefore } from '../../src/breeding/picks.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues, PlantFields } from '../../src/ledger/model.js';
import { CROPS } from '../../src/observe/crops.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TODAY = '2026-10-10';
const FROST = '2026-10-12';

type Seen = readonly (readonly [date: string, values: ObservedValues])[];

async function see(ledger: Ledger, id: PlantId | undefined, seen: Seen): Promise<void> {
  if (id === undefined) throw new Error('no such plant');
  await ledger.write('wren', async (writer) => {
    for (const [date, values] of seen) {
      await writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
    }
  });
}

/** A garden with these plants and what was seen on each. */
async function garden(histories: readonly Seen[], fields: Partial<PlantFields> = {}): Promise<Ledger> {
  const { ledger, ids } = await ledgerWith(histories.map((_, index) => seedling(`p${index}`, fields)));
  for (const [index, seen] of histories.entries()) await see(ledger, ids[index], seen);
  return ledger;
}

const groups = ({ picks }: Picks) => picks.map(({ plant, group }) => `${plant.key} ${group}`);

const set = (date: string): Seen[number] => [date, { fruit: 'set', wood: 'new' }];
const swelling = (date: string): Seen[number] => [date, { fruit: 'swelling', wood: 'new' }];

describe('what hangs', () => {
  it('is what was seen set, swelling or ripe, and not fallen, picked or tasted since', async () => {
    const ledger = await garden([
      [set('2026-08-01')],
      [set('2026-08-01'), ['2026-09-20', { fruit: 'dropped', wood: 'new' }]],
      [set('2026-08-01'), ['2026-09-20', { fruit: 'ripe', wood: 'new' }]],
      [set('2026-08-01'), ['2026-09-20', { fruit: 'ripe', brix: 18 }]],
      [set('2026-08-01'), ['2026-09-20', { fruit: 'picked-unripe' }]],
      [set('2026-08-01'), ['2026-09-20', { fruit: 'dropped' }], swelling('2026-09-27')],
      [set('2026-08-01'), ['2026-09-20', { alive: 'no' }]],
      [set('2025-08-01')],
      [['2026-09-30', { height: 40 }]],
    ]);
    const { picks } = await picksBefore(ledger, TODAY, null);
    expect(picks.map(({ plant }) => plant.key)).toEqual(['p0', 'p2', 'p5']);
    expect(picks[1]).toMatchObject({ group: 'ripe', chanceRipe: 1 });
  });

  it('keeps the crops on old and new wood apart', async () => {
    const ledger = await garden([
      [
        ['2026-04-10', { fruit: 'set', wood: 'old' }],
        ['2026-06-20', { fruit: 'ripe', wood: 'old', inside: 'pulp' }],
        set('2026-08-20'),
      ],
    ]);
    const { picks } = await picksBefore(ledger, TODAY, null);
    expect(picks.map(({ wave }) => [wave.wood, wave.since])).toEqual([['new', '2026-08-20']]);
  });

  it('stands in walking order, numbers counted as numbers, and what has no station last', async () => {
    const stations = ['bench 10 / 1', null, 'bench 2 / 10', 'bench 2 / 9'];
    const { ledger, ids } = await ledgerWith(
      stations.map((station, index) => seedling(`p${index}`, { station })),
    );
    for (const id of ids) await see(ledger, id, [set('2026-08-20')]);
    const { picks } = await picksBefore(ledger, TODAY, null);
    expect(picks.map(({ plant }) => plant.station)).toEqual([
      'bench 2 / 9',
      'bench 2 / 10',
      'bench 10 / 1',
      null,
    ]);
  });
});

describe('before a frost', () => {
  it('sorts by common practice while the ledger has no times: figs take 70 to 130 days, half of them 95', async () => {
    // Days from set to the frost: 110, 85 and 30.
    const ledger = await garden([[set('2026-06-24')], [set('2026-07-19')], [set('2026-09-12')]]);
    const found = await picksBefore(ledger, TODAY, FROST);
    expect(groups(found)).toEqual(['p0 pick', 'p1 cover', 'p2 too far off']);
    expect(found.times[0]).toMatchObject({ from: 'common practice', medianDays: 95, ripened: 0 });
    // The median: 95 days after 19 July is 22 October.
    expect(found.picks[1]?.ripe.median).toBe('2026-10-22');
    expect(found.picks[1]?.chanceRipe).toBeLessThan(0.5);
  });

  it('learns from ten fruit of its own', async () => {
    const own: Seen[] = Array.from({ length: 12 }, (_, index) => {
      const day = String(index + 10);
      return [
        set(`2025-06-${day}`),
        swelling(`2025-08-${day}`),
        [`2025-08-${Number(day) + 2}`, { fruit: 'ripe', brix: 17 }],
      ];
    });
    // They took 61 to 63 days. Of those hanging, one has hung 55 and one 20 at the frost.
    const ledger = await garden([...own, [set('2026-08-18')], [set('2026-09-22')]]);
    const found = await picksBefore(ledger, TODAY, FROST);
    expect(found.times[0]).toMatchObject({ from: 'ledger', ripened: 12 });
    expect(found.times[0]?.medianDays).toBeGreaterThanOrEqual(61);
    expect(found.times[0]?.medianDays).toBeLessThanOrEqual(63);
    expect(groups(found)).toEqual(['p12 cover', 'p13 too far off']);
    // 18 August and 62 or 63 days.
    expect(['2026-10-19', '2026-10-20']).toContain(found.picks[0]?.ripe.median);
  });

  it('does not take the first look for the day it ripened: ripe figs hang a week', async () => {
    // Set and, ninety days on, ripe, with no look between: it ripened on one of the last seven days.
    const own: Seen[] = Array.from({ length: 10 }, () => [
      set('2025-06-01'),
      ['2025-08-30', { fruit: 'ripe' }],
    ]);
    const found = await picksBefore(await garden([...own, [set('2026-08-18')]]), TODAY, FROST);
    expect(found.times[0]?.earlyDays).toBeGreaterThanOrEqual(83);
    expect(found.times[0]?.lateDays).toBeLessThanOrEqual(90);
  });

  it('knows that what was not ripe when last seen did not ripen before', async () => {
    // Hung 93 days at the frost, looked at on the 90th: a third of such figs are ripe by common practice.
    const looked = await garden([[set('2026-07-11'), swelling('2026-10-09')]]);
    const not = await garden([[set('2026-07-11')]]);
    const chance = async (ledger: Ledger) =>
      (await picksBefore(ledger, TODAY, FROST)).picks[0]?.chanceRipe as number;
    expect(await chance(looked)).toBeLessThan(0.15);
    expect(await chance(not)).toBeGreaterThan(0.4);
  });

  it('counts fruit first seen swelling as half way', async () => {
    const found = await picksBefore(await garden([[swelling('2026-09-01')]]), TODAY, FROST);
    // 48 of 95 days before 1 September; 47 after it is 18 October, or a day more, as it was not ripe so far.
    expect(['2026-10-18', '2026-10-19']).toContain(found.picks[0]?.ripe.median);
  });

  it('has what hangs longer than nearly all that ripened looked at before the frost', async () => {
    const ledger = await garden([[set('2026-04-10'), swelling('2026-10-01')]]);
    expect((await picksBefore(ledger, TODAY, FROST)).picks[0]).toMatchObject({
      group: 'pick',
      isOverdue: true,
    });
  });

  it('goes by the crop: peppers ripen indoors for weeks, figs do not', async () => {
    // Peppers: 70 days. At the frost this one has hung 52, so it is 18 from ripe; figs are 43 from it.
    const seen = [[set('2026-08-21')]] as const;
    const pepper = await garden(seen, { extra: { crop: 'Pepper' } });
    expect(groups(await picksBefore(pepper, TODAY, FROST))).toEqual(['p0 pick']);
    expect(groups(await picksBefore(await garden(seen), TODAY, FROST))).toEqual(['p0 too far off']);
  });
});

it('every crop has a ripening for any wood, in order, with its source', () => {
  for (const { name, ripening } of CROPS) {
    expect(
      ripening.some(({ wood }) => wood === null),
      name,
    ).toBe(true);
    for (const { fromDays, medianDays, toDays, source } of ripening) {
      expect(fromDays).toBeLessThan(medianDays);
      expect(medianDays).toBeLessThan(toDays);
      expect(source).toMatch(/common practice/);
    }
  }
});
