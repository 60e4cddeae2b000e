/**
 * Which plant of the ledger each row of a file is of: by its ID, if it has one, else by its key.
 */
import type { Problem } from '../errors.js';
import { canonical } from '../ids/alphabet.js';
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import type { PlantRow } from './rows.js';

/** A row matched to the plant it is of; `plant` is undefined for a row that is new. */
export interface MatchedRow {
  readonly row: PlantRow;
  readonly plant: Plant | undefined;
}

/** @param reader undefined for a ledger still to be made */
export async function matchRows(
  reader: LedgerReader | undefined,
  rows: readonly PlantRow[],
): Promise<{ matched: MatchedRow[]; problems: Problem[] }> {
  const ids = rows.flatMap(({ id }) => (id === undefined ? [] : [canonical(id)]));
  const byId = new Map(((await reader?.plantsByIds(ids)) ?? []).map((plant) => [plant.id as string, plant]));
  const keys = rows.map(({ fields }) => fields.key);
  const byKey = new Map(((await reader?.plantsByKeys(keys)) ?? []).map((plant) => [plant.key, plant]));
  const alike = await plantsAlike(
    reader,
    keys.filter((key) => !byKey.has(key)),
  );
  const matched: MatchedRow[] = [];
  const problems: Problem[] = [];
  const lineOf = new Map<PlantId, number>();
  for (const row of rows) {
    const withKey = byKey.get(row.fields.key);
    const plant = row.id === undefined ? withKey : byId.get(canonical(row.id));
    const first = plant === undefined ? undefined : lineOf.get(plant.id);
    const like = alike.size === 0 ? undefined : alike.get(row.fields.key.toLowerCase());
    const problem =
      first !== undefined
        ? `The row in line ${first} is of this plant too, ${plant?.id}: delete one of them.`
        : plant === undefined && like !== undefined
          ? likeKnown(row.fields.key, like)
          : idProblem(row.id, row.fields.key, plant, withKey);
    if (problem === undefined) matched.push({ row, plant });
    else problems.push({ line: row.line, column: row.id === undefined ? 'key' : 'id', problem });
    if (plant !== undefined && first === undefined) lineOf.set(plant.id, row.line);
  }
  return { matched, problems };
}

function idProblem(
  id: string | undefined,
  key: string,
  withId: Plant | undefined,
  withKey: Plant | undefined,
): string | undefined {
  if (id === undefined) return undefined;
  if (withId === undefined) {
    return `No plant of this ledger has the ID "${id}": IDs are given by Pottag, so leave the cell empty for a new plant.`;
  }
  if (withKey !== undefined && withKey.id !== withId.id) {
    return `${withId.id} is the plant with key "${withId.key}", but the key "${key}" is that of ${withKey.id}: put one of them right.`;
  }
  return undefined;
}

/** Plants whose keys differ from these in capital letters alone, as people write them; by the key in lower case. */
async function plantsAlike(
  reader: LedgerReader | undefined,
  keys: readonly string[],
): Promise<Map<string, Plant>> {
  if (reader === undefined) return new Map();
  const written = keys.flatMap((key) => {
    const small = key.toLowerCase();
    const asName = small.replace(/^\p{L}/u, (letter) => letter.toUpperCase());
    const asTitle = small.replace(/(?<!\p{L})\p{L}/gu, (letter) => letter.toUpperCase());
    return [small, key.toUpperCase(), asName, asTitle];
  });
  const plants = await reader.plantsByKeys([...new Set(written)]);
  return new Map(plants.map((plant) => [plant.key.toLowerCase(), plant]));
}

function likeKnown(key: string, known: Plant): string {
  return `${known.id} has the key "${known.key}", from which "${key}" differs in capital letters alone: write it like that if it is this plant, otherwise if not.`;
}
