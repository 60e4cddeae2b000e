/**
 * What phones send, recorded once each. The phone makes the ID of the journal entry, so that what arrives
 * again, after an answer was lost on the way, is known for what is recorded already.
 */
import { isDeepStrictEqual } from 'node:util';
import { tagText } from '../codes/tag-text.js';
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger, LedgerReader } from '../ledger/ledger.js';
import type { ObservedValues } from '../ledger/model.js';
import { doubtAbout, parseDay, parseValues, recordSeen, type SeenOn } from '../observe/observation.js';
import { undo } from '../observe/undo.js';
import { findTrait } from '../observe/vocabulary.js';
import { resolve } from '../scan/resolve.js';
import { whatToDo } from '../scan/unresolved.js';
import { observationView, type RecordedView, type SentObservation } from './views.js';

/**
 * Records one observation, or answers with what was recorded when it came first.
 * @throws InputError if it cannot be recorded as it is, so that a person has to look at it
 */
export async function recordSent(
  ledger: Ledger,
  by: string,
  today: string,
  sent: SentObservation,
): Promise<RecordedView> {
  return ledger.write(by, async (writer) => {
    const known = await knownObservation(writer, sent);
    if (known !== undefined) return known;
    const on = await plantOf(ledger, sent);
    const values = valuesOf(sent);
    const seen = { date: parseDay(sent.date, today), values, photo: sent.photo };
    const observation = await recordSeen(writer, on, seen, sent.entry);
    return { observation: observationView(observation), doubt: doubtAbout(on.plant, values) };
  });
}

/** The code of a refusal that is a conflict with what is recorded. */
export const ENTRY_TAKEN = 'entry-taken';

/** What is recorded under the ID that the phone made, if it came before. */
async function knownObservation(
  ledger: LedgerReader,
  sent: SentObservation,
): Promise<RecordedView | undefined> {
  const { entry: uuid, id, date } = sent;
  const change = await ledger.change(uuid);
  if (change === undefined) return undefined;
  const { by, entries } = change;
  const [entry] = entries;
  const isSame =
    entry?.kind === 'observed' &&
    entry.body.id === id &&
    entry.body.date === date &&
    isDeepStrictEqual({ ...entry.body.values }, valuesOf(sent)) &&
    entry.body.photo?.sha256 === sent.photo?.sha256;
  if (!isSame) {
    throw new InputError(
      ENTRY_TAKEN,
      'Something else was recorded already under the name that this phone gave it.',
      'Look at the plant; if this was seen as well, record it as another observation.',
    );
  }
  const { values, photo } = entry.body;
  return { observation: { entry: uuid, date, values, photo: photo?.file ?? null, by }, doubt: null };
}

/** The plant whose current tag it is, by the same code as every scan. */
async function plantOf(ledger: Ledger, { id, issue }: SentObservation): Promise<SeenOn> {
  const text = issue === null ? id : tagText(id as PlantId, issue);
  const resolution = await resolve(ledger, text);
  const { plant, status } = resolution;
  if (plant !== null && status === 'current') return { plant, issue };
  const todo = whatToDo(resolution, ledger.idLength) ?? '';
  throw new InputError(`tag-${status}`, `${text} is ${status}.`, todo);
}

function valuesOf({ values: typed, photo }: SentObservation): ObservedValues {
  const strange = Object.keys(typed).find((name) => findTrait(name) === undefined);
  if (strange !== undefined) {
    throw new InputError('unknown-trait', `"${strange}" is no trait.`, 'Reload the page and try again.');
  }
  const values = parseValues(typed);
  if (Object.keys(values).length > 0 || photo !== null) return values;
  throw new InputError('nothing-seen', 'Nothing was seen.', 'Say what was seen, or leave it.');
}

/**
 * Takes an observation back; one that was taken back already stays so.
 * @param reading another connection than the one that writes, where what is being written may still come to nothing
 */
export async function withdrawSent(
  reading: LedgerReader,
  writing: Ledger,
  by: string,
  id: string,
): Promise<void> {
  const entry = (await reading.change(id))?.entries[0];
  if (entry?.kind !== 'observed' || entry.id !== id) {
    throw new InputError('no-such-observation', 'There is no such observation.', 'Look at the plant again.');
  }
  if (!entry.stands) return;
  await undo(writing, id, by).catch((error: unknown) => {
    const isBeaten = error instanceof InputError && error.code === 'undone-already';
    if (!isBeaten) throw error;
  });
}
