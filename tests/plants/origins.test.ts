import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { carryOut, planEnrolment } from '../../src/plants/enrol.js';
import { readPlantRows } from '../../src/plants/rows.js';
import { freshLedger, ledgerWith, seedling } from '../support/ledger.js';

function rows(csv: string) {
  const options = { columns: new Map<string, string>(), today: '2026-11-25', file: 'plants.csv' };
  return readPlantRows(Buffer.from(csv), options);
}

const plan = (ledger: Ledger, lines: readonly string[]) =>
  planEnrolment(ledger, 5, rows(['key,kind,origin', ...lines].join('\n')));

/** Key → what is wrong with its origin. */
async function problems(ledger: Ledger, lines: readonly string[]): Promise<Record<string, string>> {
  const found = await plan(ledger, lines);
  return Object.fromEntries(
    found.problems.map(({ line, column, problem }) => {
      expect(column).toBe('origin');
      return [lines[(line ?? 0) - 2]?.split(',')[0], problem];
    }),
  );
}

async function enrol(ledger: Ledger, lines: readonly string[]): Promise<Map<string, PlantId>> {
  return ledger.write('wren', async (writer) => {
    const made = await planEnrolment(writer, 5, rows(['key,kind,origin', ...lines].join('\n')));
    expect(made.problems).toEqual([]);
    await carryOut(writer, made, true, () => {});
    return new Map(made.plants.map(({ key, id }) => [key, id]));
  });
}

describe('an origin', () => {
  it('can be a later row, an earlier one, a plant of the ledger by its key or by its ID', async () => {
    const { ledger, ids } = await ledgerWith([seedling('old tree')]);
    const typed = ids[0]?.toLowerCase() ?? '';
    const made = await enrol(ledger, [
      'c1,cutting,c2',
      'c2,graft,mother',
      'mother,parent,',
      'c3,cutting,old tree',
      `c4,cutting,${typed}`,
      'c5,cutting,c1',
    ]);
    const plants = new Map((await ledger.plants({})).map((plant) => [plant.key, plant]));
    const originOf = (key: string) => plants.get(key)?.origin;
    expect(originOf('c1')).toBe(made.get('c2'));
    expect(originOf('c2')).toBe(made.get('mother'));
    expect(originOf('mother')).toBeNull();
    expect(originOf('c3')).toBe(ids[0]);
    expect(originOf('c4')).toBe(ids[0]);
    expect(originOf('c5')).toBe(made.get('c1'));
  });

  it('when it is nowhere, is named, and the rows that come from that row are told too', async () => {
    const ledger = await freshLedger();
    const found = await problems(ledger, ['a,cutting,nobody', 'b,cutting,a', 'c,cutting,b', 'd,seedling,']);
    expect(Object.keys(found).sort()).toEqual(['a', 'b', 'c']);
    expect(found.a).toContain('"nobody"');
    expect(found.b).toMatch(/line 2/);
  });

  it('when it is a row with another problem, is not enrolled from it', async () => {
    const ledger = await freshLedger();
    const found = await plan(ledger, ['bad,nonsense,', 'c,cutting,bad', 'd,seedling,']);
    expect(found.toEnrol.map(({ fields }) => fields.key)).toEqual(['d']);
    expect(found.problems.map(({ line }) => line)).toEqual([2, 3]);
  });

  it('when it is the row itself or leads back to it, each row of the circle is told', async () => {
    const ledger = await freshLedger();
    const lines = ['self,cutting,self', 'a,cutting,b', 'b,cutting,c', 'c,cutting,a', 'tail,cutting,a'];
    const found = await problems(ledger, lines);
    expect(Object.keys(found).sort()).toEqual(['a', 'b', 'c', 'self', 'tail']);
    for (const key of ['self', 'a', 'b', 'c']) expect(found[key]).toMatch(/itself/);
  });

  it('when a plant of the ledger is said to come from itself, is refused', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a', { kind: 'cutting' })]);
    expect(Object.keys(await problems(ledger, ['a,cutting,a']))).toEqual(['a']);
    expect(Object.keys(await problems(ledger, [`a,cutting,${ids[0]}`]))).toEqual(['a']);
  });

  it('when its text is the key of one plant and the ID of another, is asked about', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a')]);
    await enrol(ledger, [`${ids[0]},seedling,`]);
    const found = await problems(ledger, [`c,cutting,${ids[0]}`]);
    expect(found.c).toMatch(/ID of one plant and the key of another/);
  });

  it('when its text is both the key and the ID of one plant, is that plant', async () => {
    const { ledger, ids } = await ledgerWith([seedling('PXSV9')]);
    expect(ids).toEqual(['PXSV9']); // The first ID of every ledger; the order is fixed for ever.
    await enrol(ledger, ['c,cutting,PXSV9']);
    expect((await ledger.plantsByKeys(['c']))[0]?.origin).toBe('PXSV9');
  });

  // Circles are looked for among new rows only; with --amend this one is written.
  it('when plants of the ledger are amended into a circle, is refused', async () => {
    const { ledger } = await ledgerWith([
      seedling('a', { kind: 'cutting' }),
      seedling('b', { kind: 'cutting' }),
    ]);
    const found = await problems(ledger, ['a,cutting,b', 'b,cutting,a']);
    expect(Object.keys(found).sort()).toEqual(['a', 'b']);
  });

  it('when one amended plant closes a circle with one in the ledger, is refused', async () => {
    const { ledger, ids } = await ledgerWith([seedling('a', { kind: 'parent' })]);
    await enrol(ledger, [`b,cutting,${ids[0]}`]);
    expect(Object.keys(await problems(ledger, ['a,cutting,b']))).toEqual(['a']);
  });

  // Without a kind column a row with an origin is a cutting if new, but stays a seedling if known.
  it('when it is given to a seedling enrolled before, the plant is no seedling any more', async () => {
    const { ledger } = await ledgerWith([seedling('a'), seedling('b')]);
    const made = await planEnrolment(ledger, 5, rows('key,origin\nb,a'));
    const kinds = made.toAmend.map(({ changes }) => changes.kind);
    expect(made.problems.length > 0 || kinds[0] === 'cutting').toBe(true);
  });
});
