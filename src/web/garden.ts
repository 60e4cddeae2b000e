/**
 * What a phone takes along for where there is no reception: the plants, each with its last tag.
 */
import { createHash } from 'node:crypto';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger } from '../ledger/ledger.js';
import type { Exchange } from '../ledger/model.js';
import type { GardenView } from './views.js';

/** A copy of more would take a phone too long; it then finds plants by asking only. */
const MOST_PLANTS = 30_000;

type Pair = Pick<Exchange, 'a' | 'b'>;

export async function gardenOf(ledger: Ledger): Promise<GardenView> {
  const isSmall = (await ledger.plantCount()) <= MOST_PLANTS;
  const plants = isSmall ? await ledger.plants({}) : [];
  const tags = await ledger.lastTags(plants.map(({ id }) => id));
  const because = new Map<PlantId, string | null>();
  for (const [id, { status }] of tags) {
    if (status === 'void') because.set(id, (await ledger.tags(id)).at(-1)?.voidedBecause ?? null);
  }
  const exchanges = await exchangesAbout(
    ledger,
    [...because].flatMap(([id, why]) => (why === 'exchanged' ? [id] : [])),
  );
  const rows = plants.map((plant) => ({
    plant: { ...plant, note: null, extra: {} },
    tag: tags.get(plant.id) ?? null,
    ...(because.has(plant.id) ? { voidedBecause: because.get(plant.id) ?? null } : {}),
  }));
  const content = JSON.stringify([rows, exchanges]);
  const version = createHash('sha256').update(content).digest('base64url').slice(0, 22);
  return { version, idLength: ledger.idLength, plants: rows, exchanges };
}

/** Of these plants, and of those with which they were exchanged. */
async function exchangesAbout(ledger: Ledger, ids: readonly PlantId[]): Promise<Pair[]> {
  const found = new Map<string, Pair>();
  const add = async (id: PlantId) => {
    const pairs = (await ledger.exchanges(id)).map(({ a, b }) => ({ a, b }));
    for (const pair of pairs) found.set(`${pair.a} ${pair.b}`, pair);
    return pairs;
  };
  for (const id of ids) for (const { a, b } of await add(id)) await add(a === id ? b : a);
  return [...found.values()];
}
