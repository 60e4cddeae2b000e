import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import type { Plant } from '../../src/ledger/model.js';
import { daysHungWrong, exchangesThatPutRight } from '../../src/walk/hung-wrong.js';
import { placeOf } from '../../src/walk/stations.js';
import { ledgerWith, seedling } from '../support/ledger.js';

const WALK = '2026-09-25';

async function garden(): Promise<{ ledger: Ledger; plants: Plant[] }> {
  const { ledger } = await ledgerWith(
    ['a', 'b', 'c', 'd'].map((key, at) => seedling(key, { station: `bench 1 / ${at + 1}` })),
  );
  return { ledger, plants: await ledger.plants({}) };
}

/** The tag of plant n hangs at the nth of these places. */
function finding(plants: readonly Plant[], places: readonly number[]) {
  const spots = places.map((place, at) => {
    const station = `bench 1 / ${place}`;
    const reading = { kind: 'tag' as const, plant: plants[at] as Plant, issue: 1, state: 'current' as const };
    const row = { line: at + 2, station, place: placeOf(station), scanned: '', traits: new Map() };
    return { ...row, reading };
  });
  return { kind: 'rotated' as const, spots, plants: plants.slice(0, places.length) };
}

const see = (ledger: Ledger, id: PlantId, date: string, values: Record<string, string | number>, issue = 1) =>
  ledger.write('wren', (writer) =>
    writer.append({ kind: 'observed', body: { id, issue, date, values, photo: null } }),
  );

describe('daysHungWrong', () => {
  it('begins after the last day that each of the tags was seen in its own place', async () => {
    const { ledger, plants } = await garden();
    const [a, b] = plants as [Plant, Plant, ...Plant[]];
    const exchanged = finding(plants, [2, 1]);
    const days = async () => (await daysHungWrong(ledger, [exchanged], WALK)).get(exchanged);
    await see(ledger, a.id, '2026-03-01', { brix: 18 });
    expect(await days()).toEqual({ after: null, until: WALK, observations: 1 });
    await see(ledger, a.id, '2026-05-01', { station: 'Bench 1/01' });
    await see(ledger, b.id, '2026-04-01', { station: 'bench 1 / 2' });
    // In no place of its own, on the day of the walk itself, or after it: no proof.
    await see(ledger, b.id, '2026-03-01', { station: 'bench 9 / 9' });
    await see(ledger, b.id, WALK, { station: 'bench 1 / 2' });
    await see(ledger, a.id, '2026-08-01', { brix: 19 });
    // That of a on 1 May, that of b on the day of the walk, and the fruit of August.
    expect(await days()).toEqual({ after: '2026-04-01', until: WALK, observations: 3 });
  });

  it('begins after a tag was printed, if that was later', async () => {
    const { ledger, plants } = await garden();
    const place = { stock: 'a4', sheet: 'x.pdf', page: 1, row: 1, column: 1 };
    for (const { id } of plants) {
      await see(ledger, id, '2026-04-01', { station: (await ledger.plant(id))?.station as string });
      await ledger.write('wren', (writer) =>
        writer.append({ kind: 'tag-issued', body: { id, issue: 1, ...place } }),
      );
    }
    const exchanged = finding(plants, [2, 1]);
    // The clock of these ledgers stands at 14 September 2026.
    const days = await daysHungWrong(ledger, [exchanged], WALK);
    expect(days.get(exchanged)).toMatchObject({ after: '2026-09-14', observations: 0 });
  });
});

describe('exchangesThatPutRight', () => {
  // What was seen by the tag of plant n is of the plant whose place it hangs in.
  const cycles: readonly (readonly number[])[] = [
    [2, 1],
    [2, 3, 1],
    [3, 1, 2],
    [2, 3, 4, 1],
    [3, 4, 2, 1],
  ];
  for (const places of cycles) {
    it(`of tags at ${places.join(', ')} brings each record to the pot that bore the tag`, async () => {
      const { plants } = await garden();
      const exchanges = exchangesThatPutRight(finding(plants, places));
      expect(exchanges).toHaveLength(places.length - 1);
      const holder = new Map(plants.map((plant) => [plant.key, plant.key]));
      for (const [x, y] of exchanges) {
        for (const [record, at] of holder) {
          if (at === x.key) holder.set(record, y.key);
          else if (at === y.key) holder.set(record, x.key);
        }
      }
      const expected = places.map((place, at) => [plants[at]?.key, plants[place - 1]?.key]);
      expect([...holder].slice(0, places.length)).toEqual(expected);
    });
  }
});
