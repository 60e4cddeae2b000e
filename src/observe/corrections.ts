/**
 * Putting right what was recorded under the wrong plant: two plants that wore each other's tags, one
 * observation made on another plant. Both are entries of their own and can be undone (`undo.ts`).
 */
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger, LedgerReader, LedgerWriter, Recorded } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import { checkAgainstPlant } from './observation.js';

/** Two plants that wore each other's tags from one day to another, both included. */
export interface ToExchange {
  readonly a: Plant;
  readonly b: Plant;
  readonly since: string;
  readonly until: string;
  /** The tags hang on the right pots again; otherwise they are given up. */
  readonly hungBack: boolean;
}

export interface Exchanged {
  readonly change: Recorded;
  /** The plants as they are now. */
  readonly a: Plant;
  readonly b: Plant;
  /** How many observations went from a to b, and from b to a. */
  readonly moved: { readonly fromA: number; readonly fromB: number };
  /** Tags given up; the next issue of each is queued. */
  readonly voided: readonly { readonly id: PlantId; readonly issue: number }[];
  /** How many doubts about the two it settles. */
  readonly settled: number;
}

/** @throws InputError if it cannot have been so, or if nothing would change; nothing is written then */
export async function exchangePlants(ledger: Ledger, asked: ToExchange, by: string): Promise<Exchanged> {
  const { a, b, since, until, hungBack } = asked;
  checkPlants(asked);
  return ledger.write(by, async (writer) => {
    await checkNotExchanged(writer, asked);
    const [beforeA, beforeB] = [await numbersOf(writer, a), await numbersOf(writer, b)];
    const doubts = (await writer.doubts(a.id)).length + (await writer.doubts(b.id)).length;
    await writer.append({ kind: 'exchanged', body: { a: a.id, b: b.id, since, until } });
    const voided = hungBack ? [] : await giveUpTags(writer, [a, b]);
    const fromA = [...(await numbersOf(writer, b))].filter((number) => beforeA.has(number)).length;
    const fromB = [...(await numbersOf(writer, a))].filter((number) => beforeB.has(number)).length;
    const left = (await writer.doubts(a.id)).length + (await writer.doubts(b.id)).length;
    if (fromA + fromB + voided.length + doubts - left === 0) throw nothingToExchange(asked);
    const words = `exchange of ${a.id} and ${b.id} from ${since} to ${until}, observations moved: ${fromA + fromB}`;
    const change = await writer.append({
      kind: 'changed',
      body: { what: 'exchange', words, entries: 1 + voided.length },
    });
    const now = async ({ id }: Plant) => (await writer.plant(id)) as Plant;
    // A doubt is about both plants.
    const settled = (doubts - left) / 2;
    return { change, a: await now(a), b: await now(b), moved: { fromA, fromB }, voided, settled };
  });
}

function checkPlants({ a, b, since, until }: ToExchange): void {
  if (a.id === b.id) {
    throw refused(
      'same-plant',
      `${a.id} was named twice.`,
      "Name the two plants that wore each other's tags.",
    );
  }
  if (until < since) {
    throw refused(
      'bad-days',
      `The tags cannot have been hung back on ${until}, before ${since}.`,
      'Put one of the two days right.',
    );
  }
  for (const plant of [a, b]) {
    checkAgainstPlant(plant, since);
    if (plant.ended === null || plant.ended >= since) continue;
    throw refused(
      'plant-ended',
      `${plant.id} ended on ${plant.ended}, so it wore no tag from ${since} on.`,
      `Look at the IDs and the day; if it lives: pottag scan ${plant.id} --alive yes.`,
    );
  }
}

/** A second exchange of the same days would quietly bring back what the first put right. */
export async function checkNotExchanged(
  ledger: LedgerReader,
  { a, b, since, until }: { a: { id: PlantId }; b: { id: PlantId }; since: string; until: string },
): Promise<void> {
  const before = (await ledger.exchanges(a.id)).find(
    (other) => [other.a, other.b].includes(b.id) && other.since <= until && other.until >= since,
  );
  if (before === undefined) return;
  throw refused(
    'exchanged-already',
    `${a.id} and ${b.id} were exchanged already, from ${before.since} to ${before.until}.`,
    `If that was wrong, undo it first: pottag undo ${before.number}.`,
  );
}

async function numbersOf(ledger: LedgerReader, { id }: Plant): Promise<Set<number>> {
  return new Set((await ledger.observations(id)).map(({ number }) => number));
}

/** They hang on each other's pots, where they would pass for the right ones. */
async function giveUpTags(writer: LedgerWriter, plants: readonly Plant[]) {
  const last = await writer.lastTags(plants.map(({ id }) => id));
  const voided: { id: PlantId; issue: number }[] = [];
  for (const { id } of plants) {
    const tag = last.get(id);
    if (tag?.status !== 'current') continue;
    await writer.append({ kind: 'tag-voided', body: { id, issue: tag.issue, why: 'exchanged' } });
    voided.push({ id, issue: tag.issue });
  }
  return voided;
}

function nothingToExchange({ a, b, since, until }: ToExchange): InputError {
  return refused(
    'nothing-to-exchange',
    `Nothing was seen by the tags of ${a.id} and ${b.id} from ${since} to ${until}, and there is no tag to give up.`,
    'Look at the IDs and the day: pottag show ID lists what was seen.',
  );
}

/**
 * Puts one observation under the plant that it was made on.
 * @param entry its number in the journal, or its UUID
 * @throws InputError if it is no standing observation, or cannot have been made on that plant
 */
export async function reassign(
  ledger: Ledger,
  entry: number | string,
  to: Plant,
  by: string,
): Promise<{ change: Recorded; date: string }> {
  return ledger.write(by, async (writer) => {
    const observed = (await writer.change(entry))?.entries[0];
    if (observed?.kind !== 'observed' || !observed.stands) {
      throw refused(
        'no-such-observation',
        `${entry} is no observation${observed?.kind === 'observed' ? ' any more: it was taken back' : ''}.`,
        'pottag show ID lists what was seen, each with its number.',
      );
    }
    const { date } = observed.body;
    if ((await numbersOf(writer, to)).has(observed.number)) {
      throw refused('same-plant', `${entry} is an observation of ${to.id} already.`, 'Look at the ID again.');
    }
    checkAgainstPlant(to, date);
    const change = await writer.append({ kind: 'reassigned', body: { entry: observed.id, id: to.id } });
    return { change, date };
  });
}

function refused(code: string, message: string, hint: string): InputError {
  return new InputError(code, message, `${hint} Nothing was written.`);
}
