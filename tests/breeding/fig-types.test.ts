import { describe, expect, it } from 'vitest';
import { judgeType } from '../../src/breeding/fig-types.js';
import { whatWouldSettle } from '../../src/breeding/judged-type.js';
import { idOfNumber } from '../../src/ids/allocation.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { ObservedValues, PlantFields } from '../../src/ledger/model.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const CROSS = { seedParent: 'Hollow Amber', pollenParent: 'Marl', sown: '2022-03-01' };
const PARENTS: readonly PlantFields[] = [
  seedling('Hollow Amber', { kind: 'parent', type: 'persistent female' }),
  seedling('Marl', { kind: 'parent', type: 'persistent caprifig' }),
];
const RIPE: ObservedValues = { fruit: 'ripe', wood: 'new', pollination: 'none', inside: 'pulp' };
const FALLEN: ObservedValues = { fruit: 'dropped', wood: 'new', pollination: 'none' };

type Seen = readonly (readonly [date: string, values: ObservedValues])[];

async function see(ledger: Ledger, id: PlantId, seen: Seen): Promise<void> {
  await ledger.write('wren', async (writer) => {
    for (const [date, values] of seen) {
      await writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
    }
  });
}

async function judge(ledger: Ledger, id: PlantId | undefined) {
  const plant = id === undefined ? undefined : await ledger.plant(id);
  if (plant === undefined) throw new Error(`no plant ${id}`);
  return judgeType(ledger, plant);
}

/** The judgement on a seedling of Hollow Amber × Marl with this history. */
async function judged(seen: Seen, plants = PARENTS) {
  const { ledger, ids } = await ledgerWith([...plants, seedling('s', CROSS)]);
  const id = ids.at(-1) as PlantId;
  await see(ledger, id, seen);
  return judge(ledger, id);
}

describe('the type of a seedling', () => {
  it('before anything is seen is nearly 1 : 1 : 1 : 1, open, and called at no time', async () => {
    const { posterior, called, calls, wouldSettle } = await judged([]);
    for (const share of posterior) expect(share).toBeGreaterThan(0.2);
    expect(called).toBeNull();
    expect(calls).toEqual([]);
    expect(wouldSettle?.gainBits).toBeGreaterThan(0.5);
  });

  it('is called from the season on that settles it, and says which entry did', async () => {
    const { called, calls, wouldSettle } = await judged([
      ['2025-08-30', RIPE],
      ['2026-08-29', RIPE],
    ]);
    expect(called).toBe('persistent female');
    expect(wouldSettle).toBeNull();
    expect(calls).toHaveLength(1);
    expect(['2025-08-30', '2026-08-29']).toContain(calls[0]?.date);
    expect(calls[0]?.probability).toBeGreaterThanOrEqual(0.95);
  });

  it('changes when later years say otherwise, and the change stands in its history', async () => {
    const held: Seen = [
      ['2023-08-30', RIPE],
      ['2024-09-03', RIPE],
    ];
    const dropped: Seen = ['2025', '2026', '2027', '2028'].flatMap((year) =>
      ['08-01', '08-05', '08-09'].map((day) => [`${year}-${day}`, { ...FALLEN, inside: 'pulp' }] as const),
    );
    const { called, calls } = await judged([...held, ...dropped]);
    expect(calls[0]).toMatchObject({ called: 'persistent female' });
    expect(calls.some((call) => call.called === null)).toBe(true);
    expect(called).not.toBe('persistent female');
  });

  it('with the breba crop held and the main crop dropped is named San Pedro', async () => {
    const { isSanPedro, posterior } = await judged([
      ['2024-08-01', FALLEN],
      ['2025-06-20', { ...RIPE, wood: 'old' }],
      ['2025-08-01', FALLEN],
      ['2026-08-01', FALLEN],
    ]);
    expect(isSanPedro).toBe(true);
    expect(posterior[1]).toBeGreaterThan(posterior[0]);
  });

  it('takes the word of the grower, and the word of the pollen parent', async () => {
    const { ledger, ids } = await ledgerWith([
      ...PARENTS,
      seedling('s', { ...CROSS, type: 'caducous female' }),
    ]);
    expect(await judge(ledger, ids[2])).toMatchObject({
      stated: 'caducous female',
      called: 'caducous female',
    });
    expect((await judge(ledger, ids[0])).called).toBe('persistent female');
    const caducous = [
      PARENTS[0] as PlantFields,
      { ...(PARENTS[1] as PlantFields), type: 'caducous caprifig' },
    ];
    const { posterior } = await judged([], caducous);
    expect(posterior[0] + posterior[2]).toBeLessThan(0.02);
  });

  it('shares what was seen on its cuttings, and theirs is its own', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, seedling('s', CROSS)]);
    const root = ids[2] as PlantId;
    const cutting = idOfNumber(4, 5);
    await ledger.write('wren', (writer) =>
      writer.append({
        kind: 'plant-enrolled',
        body: { number: 4, id: cutting, ...seedling('c', { kind: 'cutting', origin: root }) },
      }),
    );
    await see(ledger, cutting, [
      ['2025-08-30', RIPE],
      ['2026-08-29', RIPE],
    ]);
    const [ofRoot, ofCutting] = [await judge(ledger, root), await judge(ledger, cutting)];
    expect(ofRoot.called).toBe('persistent female');
    expect(ofCutting.posterior).toEqual(ofRoot.posterior);
  });

  it('leaves out what may be another plant’s, until that is settled', async () => {
    const { ledger, ids } = await ledgerWith([...PARENTS, seedling('s', CROSS), seedling('t', CROSS)]);
    const [, , s, t] = ids as [PlantId, PlantId, PlantId, PlantId];
    await see(ledger, s, [
      ['2025-08-30', RIPE],
      ['2026-08-29', RIPE],
    ]);
    expect((await judge(ledger, s)).called).toBe('persistent female');
    await ledger.write('wren', (writer) =>
      writer.append({ kind: 'doubted', body: { plants: [s, t], after: null, until: '2026-09-30' } }),
    );
    const { called, posterior } = await judge(ledger, s);
    expect(called).toBeNull();
    expect(posterior[0]).toBeLessThan(0.3);
  });

  it('leans on its siblings: an unnamed pollen parent tells nothing from one to the next', async () => {
    const persistence = async (pollenParent: string | null) => {
      const family = Array.from({ length: 5 }, (_, index) => seedling(`s${index}`, { pollenParent }));
      const { ledger, ids } = await ledgerWith(family);
      for (const id of ids.slice(1)) {
        await see(ledger, id, [
          ['2025-08-30', RIPE],
          ['2026-08-30', RIPE],
        ]);
      }
      const { posterior } = await judge(ledger, ids[0]);
      return posterior[0] + posterior[2];
    };
    expect(await persistence('Nameless')).toBeGreaterThan(0.45);
    expect(await persistence(null)).toBeCloseTo(0.25, 2);
  });
});

describe('what would settle it', () => {
  it('is a cut fruit where the sex is open, and fruit left unpollinated where persistence is', () => {
    expect(whatWouldSettle([0.5, 0, 0.5, 0], true)?.look).toBe('a ripe fruit cut open');
    expect(whatWouldSettle([0.5, 0.5, 0, 0], true)?.look).toBe('unpollinated fruit on new wood');
    expect(whatWouldSettle([0.96, 0.02, 0.01, 0.01], true)).toBeNull();
  });

  it('by hand: persistence open on a female of later seasons', () => {
    // Held 0.8 or 0.03: P(ripe) = 0.415; then 0.8/0.83 = 0.9639 for persistent, so ripe calls it and
    // fallen (0.2/1.17 = 0.171) does not. Gain 1 − 0.415·H(0.9639) − 0.585·H(0.171) = 0.521 bits.
    const settle = whatWouldSettle([0.5, 0.5, 0, 0], true);
    expect(settle?.chanceOfCall).toBeCloseTo(0.415, 10);
    expect(settle?.gainBits).toBeCloseTo(0.521, 3);
  });
});
