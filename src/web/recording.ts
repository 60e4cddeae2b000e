/**
 * What phones send, recorded once each. The phone makes the ID of the journal entry, so that what arrives
 * again, after an answer was lost on the way, is known for what is recorded already.
 */
import { tagText } from '../codes/tag-text.js';
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Ledger, LedgerReader } from '../ledger/ledger.js';
import { doubtAbout, parseDay, parseValues, recordSeen } from '../observe/observation.js';
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
  const known = await knownObservation(ledger, sent.entry, by);
  if (known !== undefined) return known;
  const text = sent.issue === null ? sent.id : tagText(sent.id as PlantId, sent.issue);
  const resolution = await resolve(ledger, text);
  const { plant, status, issue } = resolution;
  if (plant === null || status !== 'current') {
    throw new InputError(
      `tag-${status}`,
      `${text} is ${status}.`,
      whatToDo(resolution, ledger.idLength) ?? '',
    );
  }
  const strange = Object.keys(sent.values).find((name) => findTrait(name) === undefined);
  if (strange !== undefined) {
    throw new InputError('unknown-trait', `"${strange}" is no trait.`, 'Reload the page and try again.');
  }
  const values = parseValues(sent.values);
  if (Object.keys(values).length === 0 && sent.photo === null) {
    throw new InputError('nothing-seen', 'Nothing was seen.', 'Say what was seen, or leave it.');
  }
  const seen = { date: parseDay(sent.date, today), values, photo: sent.photo };
  return ledger.write(by, async (writer) => {
    // It may have come by another way while this one was looked at.
    const meanwhile = await knownObservation(writer, sent.entry, by);
    if (meanwhile !== undefined) return meanwhile;
    const observation = await recordSeen(writer, { plant, issue }, seen, sent.entry);
    return { observation: observationView(observation), doubt: doubtAbout(plant, values) };
  });
}

async function knownObservation(
  ledger: LedgerReader,
  id: string,
  by: string,
): Promise<RecordedView | undefined> {
  const change = await ledger.change(id);
  const entry = change?.entries[0];
  if (change === undefined) return undefined;
  if (entry?.kind !== 'observed' || entry.id !== id || change.by !== by) {
    throw new InputError('entry-taken', 'Another entry has this ID.', 'Record it again.');
  }
  const { date, values, photo } = entry.body;
  return { observation: { entry: id, date, values, photo: photo?.file ?? null, by }, doubt: null };
}

/** Takes an observation back; one that was taken back already stays so. */
export async function withdrawSent(ledger: Ledger, by: string, id: string): Promise<void> {
  const entry = (await ledger.change(id))?.entries[0];
  if (entry?.kind !== 'observed' || entry.id !== id) {
    throw new InputError('no-such-observation', 'There is no such observation.', 'Look at the plant again.');
  }
  if (!entry.stands) return;
  await undo(ledger, id, by).catch((error: unknown) => {
    const isBeaten = error instanceof InputError && error.code === 'undone-already';
    if (!isBeaten) throw error;
  });
}
