import { describe, expect, it } from 'vitest';
import { type CrossReport, reportCrosses } from '../../src/breeding/crosses.js';
import { judgeType } from '../../src/breeding/fig-types.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues, PlantFields } from '../../src/ledger/model.js';
import { FIG_TYPES } from '../../src/observe/type-likelihoods.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const TODAY = '2026-11-01';

const PARENTS: readonly PlantFields[] = [
  seedling('Hollow Amber', { kind: 'parent', type: 'persistent female' }),
  seedling('Marl', { kind: 'parent', type: 'persistent caprifig' }),
  seedling('Dray', { kind: 'parent', type: 'caducous caprifig' }),
];

const RIPE: ObservedValues = { fruit: 'ripe', wood: 'new', pollination: 'none', inside: 'pulp' };
const STAMENS: ObservedValues = { fruit: 'ripe', wood: 'new', pollination: 'none', inside: 'stamens' };
const FALLEN: ObservedValues = { fruit: 'dropped', wood: 'new', pollination: 'none' };

function cross(pollenParent: string | null, count: number, fields: Partial<PlantFields> = {}): PlantFields[] {
  return Array.from({ length: count }, (_, index) =>
    seedling(`${pollenParent} ${index} ${fields.sown ?? ''}`, {
      seedParent: 'Hollow Amber',
      pollenParent,
      sown: '2023-03-01',
      ...fields,
    }),
  );
}

async function see(
  ledger: Ledger,
  id: PlantId | undefined,
  date: string,
  values: ObservedValues,
): Promise<void> {
  if (id === undefined) throw new Error('no such plant');
  await ledger.write('wren', (writer) =>
    writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } }),
  );
}

async function only(ledger: Ledger): Promise<CrossReport> {
  const { crosses } = await reportCrosses(ledger, TODAY);
  const [report] = crosses;
  if (report === undefined || crosses.length !== 1) throw new Error(`${crosses.length} crosses`);
  return report;
}

describe('a cross', () => {
  it('counts its seedlings, and only them', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Marl', 6)]);
    const [a, b, c, d] = ids.slice(3);
    await see(ledger, a, '2025-09-01', RIPE);
    await see(ledger, b, '2026-08-01', FALLEN);
    await see(ledger, c, '2025-01-10', { alive: 'no' });
    await see(ledger, d, '2023-04-01', { germinated: 'yes' });
    await see(ledger, ids[8], '2026-09-20', { fruit: 'set' });
    await see(ledger, ids[0], '2026-09-01', { ...RIPE, liking: 9 });
    const { tally, firstFruit } = await only(ledger);
    expect(tally).toMatchObject({
      sown: 6,
      alive: 5,
      fruited: 3,
      germinated: 1,
      notGerminated: 0,
      keepers: 0,
    });
    // Fruit that ripened or fell, or ended: a, b, c. The last has set only.
    expect(tally.judged).toBe(3);
    expect(firstFruit).toMatchObject({ plants: 6, fruited: 3 });
    // 2023-03-01 to 2025-09-01 is 915 days; by then one of six has ended.
    expect(firstFruit.steps[0]?.time).toBeCloseTo(915 / 365.25, 10);
    expect(firstFruit.steps[0]).toMatchObject({ atRisk: 5, events: 1, share: 0.8 });
  });

  it('takes a sowing known by month or year from its middle, and one not known out of the curve', async () => {
    const plants = [
      ...cross('Marl', 1, { sown: '2024' }),
      ...cross('Marl', 1, { sown: '2024-07' }),
      seedling('undated', { seedParent: 'Hollow Amber', pollenParent: 'Marl' }),
    ];
    const { ledger } = await ledgerWith(plants);
    const { tally } = await only(ledger);
    const days = tally.waiting.map(({ time }) => time * 365.25);
    // From 2 July and from 16 July 2024 to 1 November 2026.
    expect(days.map(Math.round)).toEqual([852, 838]);
  });

  it('has as a keeper what was last said to be one, also of its cutting', async () => {
    const plants = cross('Marl', 3);
    const { ledger, ids } = await ledgerWith(plants);
    const [a, b, c] = ids;
    const cutting = seedling('cutting of c', { kind: 'cutting', origin: c as PlantId });
    const [ofC] = await ledger.write('wren', async (writer) => {
      const number = (await writer.plantCount()) + 1;
      const { idOfNumber } = await import('../../src/ids/allocation.js');
      const id = idOfNumber(number, 5);
      await writer.append({ kind: 'plant-enrolled', body: { number, id, ...cutting } });
      return [id];
    });
    await see(ledger, a, '2026-09-01', { keep: 'yes' });
    await see(ledger, b, '2026-09-01', { keep: 'yes' });
    await see(ledger, b, '2026-10-01', { keep: 'no' });
    await see(ledger, ofC, '2026-10-01', { keep: 'yes' });
    const { keepers, moreKeepers, tally } = await only(ledger);
    expect(keepers).toMatchObject({ hits: 2, of: 3 });
    expect(tally.sown).toBe(3);
    expect(moreKeepers.ifShareIsTrue).toBe(3);
    // Beta(3, 2): P(none in n) = 24 / ((n + 2)(n + 3)(n + 4)), 0.0714 at 4 and 0.0476 at 5.
    expect(moreKeepers.withUncertainty).toBe(5);
  });

  it('counts types where they are called, and leaves the rest open', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Marl', 8)]);
    const seedlings = ids.slice(3);
    for (const [index, id] of seedlings.entries()) {
      if (index < 3) {
        await see(ledger, id, '2025-09-01', RIPE);
        await see(ledger, id, '2026-09-01', RIPE);
      } else if (index < 6) {
        await see(ledger, id, '2025-07-01', STAMENS);
        await see(ledger, id, '2026-07-01', STAMENS);
      } else if (index === 6) await see(ledger, id, '2026-08-01', FALLEN);
    }
    const { types, persistentFemales, ratioTests } = await only(ledger);
    expect(types?.called).toEqual([3, 0, 3, 0]);
    expect(types?.open).toBe(1);
    expect(types?.expected.types).toEqual([0.25, 0.25, 0.25, 0.25]);
    expect(persistentFemales).toMatchObject({ hits: 3, of: 6 });
    expect(ratioTests.map(({ of }) => of)).toEqual(['types', 'sex']);
    // 11 seedlings for one in four at 95 % (closed form, tests/standards).
    expect(types?.forPersistentFemale).toBe(11);
  });

  it('of a caducous caprifig expects no persistence; what shows it is impossible by the ratio', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Dray', 2)]);
    let report = (await reportCrosses(ledger, TODAY)).crosses[0];
    expect(report?.types?.expected.types).toEqual([0, 0.5, 0, 0.5]);
    expect(report?.types?.forPersistentFemale).toBeNull();
    expect(report?.ratioTests.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
    for (const year of ['2024', '2025', '2026']) await see(ledger, ids[3], `${year}-09-01`, RIPE);
    report = (await reportCrosses(ledger, TODAY)).crosses[0];
    expect(report?.types?.called[0]).toBe(1);
    expect(report?.ratioTests[0]).toMatchObject({ verdict: 'impossible', exactP: 0 });
  });

  it('says that the counts are too few, agree, or contradict', async () => {
    const verdictOf = async (caprifigs: number) => {
      const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Dray', caprifigs)]);
      for (const id of ids.slice(3)) await see(ledger, id, '2026-07-01', STAMENS);
      return (await only(ledger)).ratioTests[1]?.verdict;
    };
    // 1 : 1 with n all alike: p = 2 / 2ⁿ, 0.0625 at five and 0.031 at six.
    expect(await verdictOf(5)).toBe('too few');
    expect(await verdictOf(6)).toBe('contradicts');
  });
});

describe('between crosses', () => {
  it('compares years to first fruit, and adds up what each parent gave', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Marl', 6), ...cross('Dray', 6)]);
    for (const id of ids.slice(3, 9)) await see(ledger, id, '2024-09-01', { ...STAMENS, brix: 20 });
    const { comparisons, parents } = await reportCrosses(ledger, TODAY);
    expect(comparisons).toHaveLength(1);
    expect(comparisons[0]?.test.p).toBeLessThan(0.01);
    const [hollow] = parents;
    expect(hollow).toMatchObject({
      parent: 'Hollow Amber',
      as: 'seed parent',
      crosses: 2,
      sown: 12,
      fruited: 6,
    });
    expect(hollow?.brix).toEqual({ plants: 6, sum: 120 });
  });

  it('of other crops has no types, and keeps crops apart', async () => {
    const pear = { extra: { Crop: 'Pear' } };
    const { ledger, ids } = await ledgerWith([
      ...cross('Marl', 5),
      ...cross('Marl', 5, { ...pear, sown: '2018' }),
    ]);
    await see(ledger, ids[9], '2024-09-01', { fruit: 'ripe', weight: 180, keep: 'yes' });
    const { crosses, comparisons } = await reportCrosses(ledger, TODAY);
    expect(crosses.map(({ tally }) => tally.crop.name)).toEqual(['fig', 'pear']);
    expect(crosses[1]).toMatchObject({
      types: null,
      persistentFemales: null,
      ratioTests: [],
      keepers: { hits: 1, of: 1 },
    });
    expect(comparisons).toEqual([]);
  });
});

it('show and crosses judge a seedling alike', async () => {
  const { ledger, ids } = await ledgerWith([...PARENTS, ...cross('Marl', 12)]);
  for (const [index, id] of ids.slice(3).entries()) {
    if (index % 3 === 0) await see(ledger, id, '2025-09-01', RIPE);
    if (index % 3 === 1) await see(ledger, id, '2025-08-01', FALLEN);
    if (index % 4 === 1) await see(ledger, id, '2026-07-01', STAMENS);
    if (index % 4 === 0) await see(ledger, id, '2026-09-05', RIPE);
  }
  const called = [0, 0, 0, 0];
  let open = 0;
  for (const id of ids.slice(3)) {
    const plant = await ledger.plant(id);
    if (plant === undefined) throw new Error(id);
    if ((await ledger.observations(id)).length === 0) continue;
    const judgement = await judgeType(ledger, plant);
    if (judgement.called === null) open++;
    else {
      const type = FIG_TYPES.indexOf(judgement.called);
      called[type] = (called[type] ?? 0) + 1;
    }
  }
  const { types } = await only(ledger);
  expect(types?.called).toEqual(called);
  expect(types?.open).toBe(open);
  expect(called[0]).toBeGreaterThan(0);
  expect(open).toBeGreaterThan(0);
});
