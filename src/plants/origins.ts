/**
 * Which plant a cutting or graft was taken from: named in the CSV by its ID or its key, in the ledger
 * or in the same file, on an earlier or a later row.
 */
import type { Problem } from '../errors.js';
import { canonical } from '../ids/alphabet.js';
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { MatchedRow } from './matching.js';

export interface Origins {
  /** Line of a row → ID of its origin, or the line of the new row that is its origin. */
  readonly resolved: ReadonlyMap<number, PlantId | number>;
  /** Lines of rows whose origin is nowhere to be found. */
  readonly bad: ReadonlySet<number>;
  readonly problems: readonly Problem[];
}

const COMES_FROM_ITSELF = 'By way of its origin this plant would come from itself: put the origin right.';

export async function resolveOrigins(
  reader: LedgerReader | undefined,
  rows: readonly MatchedRow[],
): Promise<Origins> {
  const named = rows.filter(({ row }) => row.fields.origin !== null);
  if (named.length === 0) return { resolved: new Map(), bad: new Set(), problems: [] };
  const texts = named.map(({ row }) => row.fields.origin ?? '');
  const byKey = new Map(((await reader?.plantsByKeys(texts)) ?? []).map(({ key, id }) => [key, id]));
  const byId = new Map(
    ((await reader?.plantsByIds(texts.map(canonical))) ?? []).map(({ id }) => [id as string, id]),
  );
  const inFile = new Map(rows.map((match) => [match.row.fields.key, match]));

  const resolved = new Map<number, PlantId | number>();
  const problems: Problem[] = [];
  for (const { row, plant } of named) {
    const text = row.fields.origin ?? '';
    const match = inFile.get(text);
    const found = new Set<PlantId | number>();
    const withKey = byKey.get(text) ?? match?.plant?.id ?? match?.row.line;
    const withId = byId.get(canonical(text));
    for (const origin of [withKey, withId]) if (origin !== undefined) found.add(origin);
    const [origin] = found;
    if (origin !== undefined && origin === plant?.id) {
      problems.push({ line: row.line, column: 'origin', problem: COMES_FROM_ITSELF });
    } else if (origin === undefined || found.size > 1) {
      problems.push({ line: row.line, column: 'origin', problem: originProblem(text, found) });
    } else resolved.set(row.line, origin);
  }
  const bad = new Set(problems.map(({ line }) => line ?? 0));
  problems.push(...ancestryProblems(await lineage(reader, rows, resolved), bad));
  for (const { line } of problems) bad.add(line ?? 0);
  return { resolved, bad, problems };
}

function originProblem(text: string, found: ReadonlySet<PlantId | number>): string {
  if (found.size > 1) {
    return `"${text}" is the ID of one plant and the key of another: use the ID of the one that is meant.`;
  }
  return `No plant has the key or the ID "${text}", neither in the ledger nor in a sound row of this file: put it right, or leave the cell empty.`;
}

/** From each plant, a new row's line or an ID, to its origin: as the file has it, else as the ledger does. */
async function lineage(
  reader: LedgerReader | undefined,
  rows: readonly MatchedRow[],
  resolved: ReadonlyMap<number, PlantId | number>,
): Promise<Map<PlantId | number, PlantId | number>> {
  const lineOf = new Map(
    rows.flatMap(({ row, plant }) => (plant === undefined ? [] : [[plant.id, row.line] as const])),
  );
  const origins = new Map<PlantId | number, PlantId | number>();
  let unknown: PlantId[] = [];
  for (const [line, origin] of resolved) {
    const node = typeof origin === 'number' ? origin : (lineOf.get(origin) ?? origin);
    origins.set(line, node);
    if (typeof node !== 'number') unknown.push(node);
  }
  // Only a plant enrolled before can be an ancestor of one in the ledger.
  while (lineOf.size > 0 && unknown.length > 0) {
    const plants = (await reader?.plantsByIds(unknown)) ?? [];
    unknown = [];
    for (const { id, origin } of plants) {
      if (origin === null || origins.has(id)) continue;
      const node = lineOf.get(origin) ?? origin;
      origins.set(id, node);
      if (typeof node !== 'number') unknown.push(node);
    }
  }
  return origins;
}

/**
 * Problems of rows that come from themselves, at whatever remove, or from a row that cannot be enrolled.
 * Every plant is walked through once, however long the chains.
 */
function ancestryProblems(
  origins: ReadonlyMap<PlantId | number, PlantId | number>,
  bad: ReadonlySet<number>,
): Problem[] {
  const problems: Problem[] = [];
  const isSound = new Map<PlantId | number, boolean>([...bad].map((line) => [line, false]));
  for (const start of origins.keys()) {
    const path = new Set<PlantId | number>();
    let node: PlantId | number | undefined = start;
    while (node !== undefined && !isSound.has(node) && !path.has(node)) {
      path.add(node);
      node = origins.get(node);
    }
    const circleStart = node !== undefined && path.has(node) ? node : undefined;
    let sound = node === undefined || isSound.get(node) === true;
    let isInCircle = circleStart !== undefined;
    for (const each of [...path].reverse()) {
      isSound.set(each, sound);
      const origin = origins.get(each);
      if (typeof each === 'number' && !sound) {
        const problem = isInCircle
          ? COMES_FROM_ITSELF
          : `Its origin${typeof origin === 'number' ? `, on line ${origin},` : ''} has a problem itself: put that right first.`;
        problems.push({ line: each, column: 'origin', problem });
      }
      if (each === circleStart) isInCircle = false;
      sound = isSound.get(each) === true;
    }
  }
  return problems;
}
