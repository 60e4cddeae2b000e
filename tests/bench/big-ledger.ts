/** Ledgers of any size, written through the ledger's own interface. */
import { existsSync, renameSync, rmSync } from 'node:fs';
import { idOfNumber } from '../../src/ids/allocation.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';

const BATCH = 20_000;

export interface LedgerSize {
  readonly plants: number;
  readonly observationsEach: number;
}

/** Makes a ledger of that size in `folder`, unless one is there already. IDs have six characters. */
export async function makeBigLedger(folder: string, { plants, observationsEach }: LedgerSize): Promise<void> {
  if (existsSync(folder)) return;
  const making = `${folder}.making`;
  rmSync(making, { recursive: true, force: true });
  const ledger = await createLedger(making, 6, 'bench', () => new Date());
  for (let first = 1; first <= plants; first += BATCH) {
    await ledger.write('bench', async (writer) => {
      for (let number = first; number < Math.min(first + BATCH, plants + 1); number++) {
        const id = idOfNumber(number, 6);
        const plant = {
          key: `N${number}`,
          kind: 'seedling',
          sown: '2023-02-11',
          origin: null,
          type: null,
          note: null,
        } as const;
        const parents = { seedParent: `Seed ${number % 40}`, pollenParent: `Pollen ${number % 7}` };
        const station = `bench ${Math.ceil(number / 100)} / ${number % 100}`;
        await writer.append({
          kind: 'plant-enrolled',
          body: { number, id, ...plant, ...parents, station, extra: {} },
        });
        for (let turn = 1; turn <= observationsEach; turn++) {
          const values = { brix: 10 + (number % 15), fruit: 'ripe' };
          await writer.append({
            kind: 'observed',
            body: { id, issue: null, date: `2026-08-0${turn}`, values, photo: null },
          });
        }
      }
    });
  }
  ledger.close();
  renameSync(making, folder);
}
