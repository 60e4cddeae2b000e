/**
 * What the ledger knows of plants, without what is doubtful: while it is not settled whose it was, it tells
 * nothing of anyone.
 */
import type { LedgerReader, PlantSelection } from '../ledger/ledger.js';
import type { History, Plant } from '../ledger/model.js';

export async function* soundHistories(
  ledger: LedgerReader,
  selection: PlantSelection,
): AsyncGenerator<History> {
  for await (const history of ledger.histories(selection)) yield sound(history);
}

export async function soundHistory(ledger: LedgerReader, plant: Plant): Promise<History> {
  return sound({ plant, observations: await ledger.observations(plant.id) });
}

function sound({ plant, observations }: History): History {
  const isDoubtful = observations.some(({ doubtful }) => doubtful);
  return {
    plant,
    observations: isDoubtful ? observations.filter(({ doubtful }) => !doubtful) : observations,
  };
}
