import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { WALK } from '../../src/walk/parameters.js';
import { bestMeasurement } from '../../src/walk/settle.js';
import { growthOf, type Known, lastingTraits, TraitKnowledge } from '../../src/walk/traits.js';
import { plantAt } from './spots.js';

const TODAY = '2026-10-17';
const GROWTH = { mean: 40, sd: 20 };

type Values = Readonly<Record<string, Known['value'] | Known>>;

function knowledgeOf(each: readonly Values[], date = TODAY) {
  const plants = each.map((_, index) => plantAt(index + 1, `bench ${index + 1}`));
  const seen = new Map(
    each.map((values, index) => [
      plants[index]?.id as PlantId,
      new Map(
        Object.entries(values).map(([trait, value]) => [
          trait,
          typeof value === 'object' ? value : { value, date: '2026-10-17' },
        ]),
      ),
    ]),
  );
  return { ids: plants.map(({ id }) => id), knowledge: new TraitKnowledge(plants, seen, date, GROWTH) };
}

const LEAVES = [{ leaf: 'five-lobed' }, { leaf: 'unlobed' }, { leaf: 'five-lobed' }, { leaf: 'three-lobed' }];

describe('a category', () => {
  it('speaks for the plants that have it, more so the rarer it is, and never quite rules out the others', () => {
    const { ids, knowledge } = knowledgeOf(LEAVES);
    const [five, un, , three] = ids as [PlantId, PlantId, PlantId, PlantId];
    const ratio = (id: PlantId, value: string) => knowledge.ratio('leaf', value, id);
    expect(ratio(five, 'five-lobed')).toBeGreaterThan(1);
    expect(ratio(un, 'Unlobed')).toBeGreaterThan(ratio(five, 'five-lobed'));
    expect(ratio(three, 'five-lobed')).toBeCloseTo(WALK.valueWrong, 12);
  });

  it('of which the ledger holds nothing says nothing', () => {
    const { ids, knowledge } = knowledgeOf([{ leaf: 'unlobed' }, {}]);
    expect(knowledge.ratio('leaf', 'unlobed', ids[1] as PlantId)).toBe(1);
    expect(knowledge.ratio('bark', 'grey', ids[0] as PlantId)).toBe(1);
  });
});

describe('the fruit of a fig inside', () => {
  it('speaks through the type: stamens are odd after pulp, a dry fruit is not', () => {
    const { ids, knowledge } = knowledgeOf([{ inside: 'pulp' }, { inside: 'stamens' }, { inside: 'dry' }]);
    const [pulp, stamens, dry] = ids as [PlantId, PlantId, PlantId];
    const ratio = (id: PlantId, value: string) => knowledge.ratio('inside', value, id);
    expect(ratio(pulp, 'stamens')).toBeLessThan(0.15);
    expect(ratio(stamens, 'stamens')).toBeGreaterThan(1.5);
    expect(ratio(pulp, 'dry')).toBeGreaterThan(0.4);
    expect(ratio(dry, 'pulp')).toBeGreaterThan(ratio(stamens, 'pulp'));
  });

  it('follows from the type that the grower states, as far as it is stated', () => {
    const plants = ['persistent female', 'caprifig', 'Caducous Caprifig', 'no fig', null].map((type, index) =>
      plantAt(index + 1, `bench ${index + 1}`, { type }),
    );
    const knowledge = new TraitKnowledge(plants, new Map(), TODAY, GROWTH);
    const beliefs = plants.map(({ id }) => knowledge.belief('inside', id));
    // The table of types: of ripe fruit of a persistent female 95 % has pulp, of a caprifig 70 % stamens.
    expect(beliefs.map((belief) => belief?.kind === 'shares' && belief.shares.get('pulp'))).toEqual([
      expect.closeTo(0.95, 9),
      expect.closeTo((0.05 + 0.03) / 2, 9),
      expect.closeTo(0.03, 9),
      false,
      false,
    ]);
    expect(knowledge.ratio('type', 'Persistent female', plants[0]?.id as PlantId)).toBeGreaterThan(1);
    expect(knowledge.ratio('type', 'caprifig', plants[0]?.id as PlantId)).toBeLessThan(0.1);
  });
});

describe('a height', () => {
  it('is expected to have grown since it was measured, and to be the less certain', () => {
    const { ids, knowledge } = knowledgeOf([
      { height: { value: 60, date: '2025-10-17' } },
      { height: { value: 60, date: TODAY } },
    ]);
    const [old, fresh] = ids.map((id) => knowledge.belief('height', id));
    // A year's growth of 40 ± 20 cm; the folding rule adds its 4 % + 1.5 cm = 3.9 cm.
    expect(old).toMatchObject({ mean: expect.closeTo(100, 0), sd: expect.closeTo(Math.hypot(20, 3.9), 1) });
    expect(fresh).toMatchObject({ mean: 60, sd: expect.closeTo(3.9, 6) });
  });

  it('tells plants of different heights apart', () => {
    const heights = [30, 60, 90, 120].map((value) => ({ height: { value, date: TODAY } }));
    const { ids, knowledge } = knowledgeOf(heights);
    const ratios = ids.map((id) => knowledge.ratio('height', 61, id));
    expect(ratios[1]).toBeGreaterThan(3);
    for (const other of [0, 2, 3]) expect(ratios[other]).toBeLessThan(0.05);
  });

  it('grows as the plants of this walk did, once there are enough of them', () => {
    const measured = Array.from({ length: 8 }, (_, index) => ({
      before: { value: 50, date: '2025-10-17' },
      now: 60 + index,
    }));
    expect(growthOf(measured, TODAY).mean).toBeCloseTo(13.5, 1);
    expect(growthOf(measured.slice(1), TODAY)).toEqual(WALK.growthCmPerYear);
  });
});

it('what passes with the day tells nothing of which plant it is', () => {
  const { ids, knowledge } = knowledgeOf([{ fruit: 'ripe', liking: 9 }, { fruit: 'set' }]);
  expect(knowledge.ratio('fruit', 'ripe', ids[0] as PlantId)).toBe(1);
  expect(lastingTraits([new Map([['fruit', 1]]), new Map([['leaf', 1]])])).toEqual(['leaf']);
});

it("columns of the grower's CSV count where nothing was seen", () => {
  const plant = plantAt(1, 'a', { extra: { 'Leaf form': 'narrow', Lobes: '5', Leaf: '5' } });
  const knowledge = new TraitKnowledge([plant], new Map(), TODAY, GROWTH);
  expect(knowledge.belief('leaf form', plant.id)).toEqual({ kind: 'category', value: 'narrow' });
  expect(knowledge.belief('lobes', plant.id)).toMatchObject({ kind: 'number', mean: 5 });
  // A trait in words stays one, as a walk or a session writes it.
  expect(knowledge.belief('leaf', plant.id)).toEqual({ kind: 'category', value: '5' });
});

describe('bestMeasurement', () => {
  const half = (ids: readonly PlantId[]) => ids.slice(0, 2).map((id) => ({ id, share: 0.5 }));

  it('asks for the trait that parts the plants', () => {
    const { ids, knowledge } = knowledgeOf([
      { leaf: 'unlobed', height: 60 },
      { leaf: 'unlobed', height: 110 },
      { leaf: 'three-lobed', height: 80 },
    ]);
    const best = bestMeasurement(half(ids), ['leaf', 'height'], new Map(), knowledge);
    expect(best?.trait).toBe('height');
    expect(best?.expect).toEqual([
      { id: ids[0], value: 60 },
      { id: ids[1], value: 110 },
    ]);
    // Two plants of which one is known to be the one: one bit at most, and nearly that here.
    expect(best?.bits).toBeGreaterThan(0.8);
    expect(best?.bits).toBeLessThanOrEqual(1);
  });

  it('asks for nothing that was seen, and nothing where all are alike', () => {
    const { ids, knowledge } = knowledgeOf([
      { leaf: 'unlobed', height: 60 },
      { leaf: 'unlobed', height: 110 },
    ]);
    expect(bestMeasurement(half(ids), ['leaf', 'height'], new Map([['height', 60]]), knowledge)).toBeNull();
    expect(bestMeasurement(half(ids), ['leaf'], new Map(), knowledge)).toBeNull();
    expect(
      bestMeasurement([{ id: ids[0] as PlantId, share: 1 }], ['height'], new Map(), knowledge),
    ).toBeNull();
  });
});
