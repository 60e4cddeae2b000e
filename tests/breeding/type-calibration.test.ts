/**
 * Types in gardens of known truth, made by other rules than those they are judged by: fruit falls by the
 * season's luck and by the tree, weather goes unrecorded, wood and pollination are often not noted, and one
 * entry in three hundred is a slip.
 */
import { expect, it } from 'vitest';
import { reportCrosses } from '../../src/breeding/crosses.js';
import { uniform } from '../../src/breeding/random.js';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { LedgerWriter } from '../../src/ledger/ledger.js';
import type { ObservedValues } from '../../src/ledger/model.js';
import { FIG_TYPES } from '../../src/observe/type-likelihoods.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const SEEDLINGS = 900;
const YEARS = ['2023', '2024', '2025', '2026'];
const SLIP = 1 / 300;

interface Truth {
  readonly isFemale: boolean;
  readonly isPersistent: boolean;
  /** Share it holds in a good season. */
  readonly holds: number;
}

async function live(
  writer: LedgerWriter,
  id: PlantId,
  truth: Truth,
  random: () => number,
  luck: ReadonlyMap<string, number>,
) {
  const chance = (share: number) => random() < share;
  const firstYear = Math.floor(random() * 3);
  for (const [index, year] of YEARS.entries()) {
    if (index < firstYear) continue;
    const held = truth.holds * (luck.get(year) ?? 1) * (index === firstYear ? 0.5 : 1);
    for (let fruit = 0; fruit < 1 + Math.floor(random() * 4); fruit++) {
      const isPollinated = chance(0.1);
      const ripens = chance(isPollinated && truth.isFemale ? Math.max(held, 0.7) : held) !== chance(SLIP);
      const inside = truth.isFemale ? 'pulp' : chance(0.75) ? 'stamens' : 'dry';
      const seen = chance(SLIP) ? (inside === 'pulp' ? 'stamens' : 'pulp') : inside;
      const values: ObservedValues = {
        fruit: ripens ? 'ripe' : 'dropped',
        ...(chance(0.7) ? { wood: 'new' } : {}),
        ...(chance(0.7) ? { pollination: isPollinated ? 'hand' : 'none' } : {}),
        ...(ripens && chance(0.8) ? { inside: seen } : {}),
      };
      const date = `${year}-0${ripens ? 9 : 8}-${String(3 + fruit * 6).padStart(2, '0')}`;
      await writer.append({ kind: 'observed', body: { id, issue: null, date, values, photo: null } });
    }
  }
}

/** The calls in one garden: how sure, and whether right. */
async function callsInGarden(seed: number): Promise<{ sure: number; isRight: boolean }[]> {
  const random = uniform(seed);
  const plants = Array.from({ length: SEEDLINGS }, (_, index) =>
    seedling(`s${index}`, { seedParent: 'Amber', pollenParent: index % 3 === 0 ? 'Dray' : 'Marl' }),
  );
  const parents = [
    seedling('Marl', { kind: 'parent', type: 'persistent caprifig' }),
    seedling('Dray', { kind: 'parent', type: 'caducous caprifig' }),
  ];
  const { ledger, ids } = await ledgerWith([...parents, ...plants]);
  const luck = new Map(YEARS.map((year) => [year, 0.5 + random() / 2]));
  const truths = new Map<PlantId, string>();
  await ledger.write('wren', async (writer) => {
    for (const [index, id] of ids.slice(2).entries()) {
      const isFemale = random() < 0.5;
      const isPersistent = index % 3 !== 0 && random() < 0.5;
      const holds = isPersistent ? 0.5 + random() / 2 : random() * 0.06;
      truths.set(id, `${isPersistent ? 'persistent' : 'caducous'} ${isFemale ? 'female' : 'caprifig'}`);
      await live(writer, id, { isFemale, isPersistent, holds }, random, luck);
    }
  });
  const { crosses } = await reportCrosses(ledger, '2026-11-01');
  return crosses.flatMap(({ types }) =>
    [...(types?.posteriors ?? [])].flatMap(([id, posterior]) => {
      const sure = Math.max(...posterior);
      return sure >= 0.95 ? [{ sure, isRight: truths.get(id) === FIG_TYPES[posterior.indexOf(sure)] }] : [];
    }),
  );
}

it('of the types called, as many are right as is said', async () => {
  const called = [...(await callsInGarden(1)), ...(await callsInGarden(2)), ...(await callsInGarden(3))];
  expect(called.length).toBeGreaterThan(SEEDLINGS / 2);
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const right = mean(called.map(({ isRight }) => Number(isRight)));
  const said = mean(called.map(({ sure }) => sure));
  const standardError = Math.sqrt((said * (1 - said)) / called.length);
  expect(right).toBeGreaterThanOrEqual(0.95);
  expect(Math.abs(right - said)).toBeLessThan(3 * standardError);
});
