import { expect, it } from 'vitest';
import type { History } from '../../src/ledger/model.js';
import { ledgerWith, seedling } from '../support/ledger.js';

it('histories gives the chosen plants in the order of enrolment, each with its own observations by date', async () => {
  // More plants than are read at once, so that no page is lost or read twice.
  const plants = Array.from({ length: 4100 }, (_, index) =>
    seedling(`P${index}`, { pollenParent: index % 2 === 0 ? 'Aldo' : 'Brina' }),
  );
  const { ledger, ids } = await ledgerWith(plants);
  await ledger.write('wren', async (writer) => {
    for (const [index, id] of ids.entries()) {
      if (index % 500 !== 0) continue;
      for (const date of ['2026-09-02', '2026-08-01']) {
        await writer.append({
          kind: 'observed',
          body: { id, issue: null, date, values: { height: index + 1 }, photo: null },
        });
      }
    }
  });
  const found: History[] = [];
  for await (const history of ledger.histories({ pollenParent: 'Aldo' })) found.push(history);
  expect(found.map(({ plant }) => plant.id)).toEqual(ids.filter((_, index) => index % 2 === 0));
  for (const { plant, observations } of found) {
    expect(observations).toEqual(await ledger.observations(plant.id));
    expect(observations.length).toBe((plant.number - 1) % 500 === 0 ? 2 : 0);
  }
  expect(found.filter(({ observations }) => observations.length > 0)).toHaveLength(9);
});
