/**
 * Real ledgers in fresh folders, for tests of what works on them.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { inject, onTestFinished } from 'vitest';
import { idOfNumber } from '../../src/ids/allocation.js';
import type { IdLength, PlantId } from '../../src/ids/plant-id.js';
import type { Ledger, LedgerWriter } from '../../src/ledger/ledger.js';
import type { PlantFields } from '../../src/ledger/model.js';
import { ledgerPlace } from '../../src/ledger/place.js';
import { emptyDatabase } from './postgres.js';

/** A clock that stands still. */
export const NOON = () => new Date('2026-09-14T12:00:00.000Z');

export function freshFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'pottag-ledger-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Where a ledger can be made: a folder, or a database where the tests are run against a server. */
async function emptyPlace(): Promise<string> {
  const server = inject('postgres');
  if (server === undefined) return join(freshFolder(), 'ledger');
  process.env.POTTAG_COPIES = freshFolder();
  return emptyDatabase(server);
}

export async function freshLedger(idLength: IdLength = 5): Promise<Ledger> {
  const place = await ledgerPlace(await emptyPlace());
  const ledger = await place.create(idLength, 'wren', NOON);
  onTestFinished(() => ledger.close());
  return ledger;
}

export function seedling(key: string, fields: Partial<PlantFields> = {}): PlantFields {
  return {
    key,
    kind: 'seedling',
    seedParent: null,
    pollenParent: null,
    sown: null,
    origin: null,
    station: null,
    type: null,
    note: null,
    extra: {},
    ...fields,
  };
}

/** Enrols plants as the next ones of the ledger and returns their IDs. */
export async function enrolInto(writer: LedgerWriter, idLength: IdLength, plants: readonly PlantFields[]) {
  const ids: PlantId[] = [];
  for (const fields of plants) {
    const number = (await writer.plantCount()) + 1;
    const id = idOfNumber(number, idLength);
    await writer.append({ kind: 'plant-enrolled', body: { number, id, ...fields } });
    ids.push(id);
  }
  return ids;
}

/** A ledger with these plants. */
export async function ledgerWith(
  plants: readonly PlantFields[],
): Promise<{ ledger: Ledger; ids: PlantId[] }> {
  const ledger = await freshLedger();
  const ids = await ledger.write('wren', (writer) => enrolInto(writer, 5, plants));
  return { ledger, ids };
}

/** As field copies are made of it. */
export const homeOf = ({ folder }: Ledger) => ({ folder, name: folder });
