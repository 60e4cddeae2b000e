/**
 * What was scanned at each station → the plant it names, for a whole walk at once.
 */
import { readTagText, type TagReading } from '../codes/tag-text.js';
import type { IdLength, PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant, Tag } from '../ledger/model.js';
import { NO_POT, NO_TAG, type WalkRow } from './rows.js';

export type TagState = 'current' | 'superseded' | 'void' | 'unissued';

export type Reading =
  | { readonly kind: 'no pot' }
  | { readonly kind: 'no tag' }
  /** `issue` is null for an ID without one. */
  | { readonly kind: 'tag'; readonly plant: Plant; readonly issue: number | null; readonly state: TagState }
  /** Illegible or wrong characters; `candidates` are the ledger's plants they leave. */
  | { readonly kind: 'spoilt'; readonly pattern: string; readonly candidates: readonly Plant[] }
  | { readonly kind: 'stranger' };

/** One row of the walk with what it says. */
export interface Spot extends WalkRow {
  readonly reading: Reading;
}

/** More plants than this fit only patterns that say next to nothing. */
const MOST_CANDIDATES = 40;

export async function readSpots(
  ledger: LedgerReader,
  idLength: IdLength,
  rows: readonly WalkRow[],
): Promise<Spot[]> {
  const texts = rows.map(({ scanned }) =>
    scanned === NO_TAG || scanned === NO_POT ? scanned : readTagText(scanned, idLength),
  );
  const ids = texts.flatMap((text) => (typeof text === 'string' ? [] : idsIn(text)));
  const plants = new Map((await ledger.plantsByIds([...new Set(ids)])).map((plant) => [plant.id, plant]));
  const last = await ledger.lastTags([...plants.keys()]);
  const spots: Spot[] = [];
  for (const [index, row] of rows.entries()) {
    const text = texts[index] as string | TagReading;
    spots.push({ ...row, reading: await readingOf(ledger, text, plants, last) });
  }
  return spots;
}

function idsIn(text: TagReading): PlantId[] {
  if (text.kind === 'sound') return [text.id];
  return text.kind === 'damaged' ? text.offers.map(({ id }) => id) : [];
}

async function readingOf(
  ledger: LedgerReader,
  text: string | TagReading,
  plants: ReadonlyMap<PlantId, Plant>,
  last: ReadonlyMap<PlantId, Pick<Tag, 'issue' | 'status'>>,
): Promise<Reading> {
  if (typeof text === 'string') return { kind: text === NO_TAG ? 'no tag' : 'no pot' };
  if (text.kind === 'not a tag') return { kind: 'stranger' };
  if (text.kind === 'damaged') {
    const offered = idsIn(text).flatMap((id) => plants.get(id) ?? []);
    const candidates = offered.length > 0 ? offered : await plantsFitting(ledger, text.pattern);
    return { kind: 'spoilt', pattern: text.pattern, candidates };
  }
  const plant = plants.get(text.id);
  if (plant === undefined) return { kind: 'stranger' };
  const { issue } = text;
  return { kind: 'tag', plant, issue, state: await stateOf(ledger, plant.id, issue, last.get(plant.id)) };
}

async function stateOf(
  ledger: LedgerReader,
  id: PlantId,
  issue: number | null,
  last: Pick<Tag, 'issue' | 'status'> | undefined,
): Promise<TagState> {
  if (issue === null) return 'current';
  if (last === undefined || issue > last.issue) return 'unissued';
  if (issue === last.issue) return last.status;
  return (await ledger.tags(id)).find((tag) => tag.issue === issue)?.status ?? 'unissued';
}

async function plantsFitting(ledger: LedgerReader, pattern: string): Promise<Plant[]> {
  const illegible = [...pattern].filter((character) => character === '?').length;
  if (illegible === 0 || illegible === pattern.length) return [];
  const plants = await ledger.plantsLike(pattern, MOST_CANDIDATES + 1);
  return plants.length > MOST_CANDIDATES ? [] : plants;
}
