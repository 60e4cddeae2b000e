/**
 * The phone's copy of the plants answers what resolving asks of a ledger, so that a scan means the same with
 * and without the server.
 */
import type { Plant } from '../../ledger/model.js';
import type { TagBook } from '../../scan/resolve.js';
import type { GardenView } from '../views.js';

export function tagBookOf({ idLength, plants, exchanges = [] }: GardenView): TagBook {
  const byId = new Map(plants.map((row) => [row.plant.id as string, row]));
  const found = (ids: readonly string[]): Plant[] => ids.flatMap((id) => byId.get(id)?.plant ?? []);
  return {
    idLength,
    plant: async (id) => byId.get(id)?.plant,
    plantsByIds: async (ids) => found(ids),
    async plantsLike(pattern, limit) {
      const shape = new RegExp(`^${pattern.replaceAll('?', '.')}$`);
      return found([...byId.keys()].filter((id) => shape.test(id)).slice(0, limit));
    },
    async tags(id) {
      const { tag: last = null, voidedBecause = null } = byId.get(id) ?? {};
      if (last === null) return [];
      // Earlier issues are superseded, or void, which comes to the same for whoever stands before the pot.
      const earlier = Array.from({ length: last.issue - 1 }, (_, index) => index + 1);
      const superseded = { status: 'superseded' as const, voidedBecause: null };
      return [...earlier.map((issue) => ({ issue, ...superseded })), { ...last, voidedBecause }];
    },
    exchanges: async (id) => exchanges.filter(({ a, b }) => a === id || b === id),
  };
}
