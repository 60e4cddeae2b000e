/**
 * From a piece of scanned or typed text to the plant it names.
 *
 * Nothing is guessed: an ID that is not sound as read is only ever offered, with the plants that it
 * may have been meant for, and a tag that has been replaced is never taken for the current one.
 */
import { readTagText } from '../codes/tag-text.js';
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerView } from '../ledger/ledger.js';
import type { Exchange, Plant, Tag } from '../ledger/model.js';

/**
 * - `current`: the plant's tag as last issued, or its ID alone
 * - `superseded`: an older issue; a newer tag should hang there
 * - `void`: an issue given up: lost, faded, damaged, or hung on another plant
 * - `unissued`: an issue that was never printed
 * - `unknown`: a sound ID that no plant of this ledger has
 * - `unreadable`: an ID with illegible or wrong characters
 * - `not-a-tag`: something else
 */
export type ScanStatus =
  | 'current'
  | 'superseded'
  | 'void'
  | 'unissued'
  | 'unknown'
  | 'unreadable'
  | 'not-a-tag';

export interface Candidate {
  readonly plant: Plant;
  readonly because: string;
  /** That it is this plant; null where characters were only filled in. */
  readonly probability: number | null;
}

export interface Resolution {
  readonly text: string;
  /** The sound ID read; null if none was. */
  readonly id: PlantId | null;
  readonly issue: number | null;
  readonly status: ScanStatus;
  readonly plant: Plant | null;
  /** For `void`: why it was given up, `lost`, `faded`, `damaged` or `exchanged`; else null. */
  readonly voidedBecause: string | null;
  /**
   * Enrolled plants to choose from, by what is on the pot: for `unreadable`, and for a `void` tag that hung on another
   * plant, if it is known on which.
   */
  readonly candidates: readonly Candidate[];
}

/** More plants than this are no help to someone choosing at a bench. */
const MOST_CANDIDATES = 12;

/** What resolving asks: of the ledger, or of the copy of its plants and tags that a phone carries. */
export interface TagBook extends Pick<LedgerView, 'idLength' | 'plant' | 'plantsByIds' | 'plantsLike'> {
  tags(id: PlantId): Promise<readonly Pick<Tag, 'issue' | 'status' | 'voidedBecause'>[]>;
  exchanges(id: PlantId): Promise<readonly Pick<Exchange, 'a' | 'b'>[]>;
}

export async function resolve(ledger: TagBook, text: string): Promise<Resolution> {
  const reading = readTagText(text, ledger.idLength);
  const nothing = { text, id: null, issue: null, plant: null, voidedBecause: null, candidates: [] };
  switch (reading.kind) {
    case 'not a tag':
      return { ...nothing, status: 'not-a-tag' };
    case 'damaged': {
      const candidates = await findCandidates(ledger, reading.pattern, reading.offers);
      return { ...nothing, issue: reading.issue, status: 'unreadable', candidates };
    }
    case 'sound': {
      const { id, issue } = reading;
      const plant = await ledger.plant(id);
      if (plant === undefined) return { ...nothing, id, issue, status: 'unknown' };
      if (issue === null) return { ...nothing, id, plant, status: 'current' };
      const tag = (await ledger.tags(id)).find((one) => one.issue === issue);
      const voidedBecause = tag?.voidedBecause ?? null;
      const candidates = voidedBecause === 'exchanged' ? await wornBy(ledger, id) : [];
      return { text, id, issue, status: tag?.status ?? 'unissued', plant, voidedBecause, candidates };
    }
  }
}

/** On whose pot a plant's exchanged tag hangs; nobody knows where either was exchanged with a third. */
async function wornBy(ledger: TagBook, id: PlantId): Promise<Candidate[]> {
  const [other, ...more] = await partners(ledger, id);
  if (other === undefined || more.length > 0 || (await partners(ledger, other)).length > 1) return [];
  const plant = await ledger.plant(other);
  const because = 'its pot wore this tag, an exchange says';
  return plant === undefined ? [] : [{ plant, because, probability: null }];
}

async function partners(ledger: TagBook, id: PlantId): Promise<PlantId[]> {
  const exchanges = await ledger.exchanges(id);
  return [...new Set(exchanges.map(({ a, b }) => (a === id ? b : a)))];
}

async function findCandidates(
  ledger: TagBook,
  pattern: string,
  offers: readonly { readonly id: PlantId; readonly because: string }[],
): Promise<Candidate[]> {
  if (offers.length > 0) {
    const plants = await ledger.plantsByIds(offers.map(({ id }) => id));
    return offers.flatMap(({ id, because }) => {
      const plant = plants.find((found) => found.id === id);
      return plant === undefined ? [] : [{ plant, because, probability: null }];
    });
  }
  const legible = [...pattern].filter((character) => character !== '?').length;
  if (legible === 0 || legible === pattern.length) return [];
  const plants = await ledger.plantsLike(pattern, MOST_CANDIDATES + 1);
  if (plants.length > MOST_CANDIDATES) return [];
  return plants.map((plant) => ({ plant, because: 'fits the legible characters', probability: null }));
}
