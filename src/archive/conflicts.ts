/**
 * Where what a field copy recorded, and what was recorded at home or in another copy meanwhile, may not be true
 * together. Nothing is left out for it; a person looks.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { KnownObservation, ObservedValues } from '../ledger/model.js';
import type { FieldEntry } from './read-copy.js';

interface OfObservation {
  /** The place of the observation's entry in the journal at home: what `undo` takes. */
  readonly number: number;
  readonly entry: string;
  /** The plant that it counts for. */
  readonly id: PlantId;
  readonly date: string;
}

export type Conflict =
  | (OfObservation &
      (
        | { readonly kind: 'ended'; readonly ended: string }
        /** By a tag that was given up, or replaced, on `since`. */
        | { readonly kind: 'old-tag'; readonly issue: number; readonly since: string }
        | { readonly kind: 'exchanged'; readonly recordedAs: PlantId }
        | { readonly kind: 'doubtful' }
        /** Another observation of the same day says that the plant lives, this one that it does not, or the reverse. */
        | { readonly kind: 'alive'; readonly alive: string; readonly other: number }
        /** The copy took it back when that was done here already, or put it back; whether it stands now. */
        | { readonly kind: 'taken-back-here' | 'put-back-here'; readonly stands: boolean }
        /** The entry of this UUID says something else here; `values` is what the copy says. */
        | { readonly kind: 'differs'; readonly values: ObservedValues }
      ))
  /** A photo that an entry of the copy names and that is not, or not unchanged, in the copy. */
  | { readonly kind: 'photo'; readonly entry: string; readonly file: string };

/** Of all that the copy recorded, now that it is here: so that merging again says again what was not seen to. */
export async function conflictsAfter(
  ledger: LedgerReader,
  entries: readonly FieldEntry[],
): Promise<Conflict[]> {
  const own = new Set(entries.map(({ id }) => id));
  const seen = new Map<PlantId, readonly KnownObservation[]>();
  const conflicts: Conflict[] = [];
  for (const { id: entry } of entries.filter(({ kind }) => kind === 'observed')) {
    const id = await ledger.plantOfObservation(entry);
    if (id === undefined) continue; // Taken back.
    const observations = seen.get(id) ?? (await ledger.observations(id));
    seen.set(id, observations);
    const observation = observations.find((each) => each.entry === entry);
    if (observation === undefined) continue;
    conflicts.push(...(await conflictsOf(ledger, id, observation, { observations, own })));
  }
  return conflicts;
}

async function conflictsOf(
  ledger: LedgerReader,
  id: PlantId,
  observation: KnownObservation,
  { observations, own }: { observations: readonly KnownObservation[]; own: ReadonlySet<string> },
): Promise<Conflict[]> {
  const { number, entry, date, issue, values, recordedAs, doubtful } = observation;
  const of = { number, entry, id, date };
  const conflicts: Conflict[] = [];
  if (recordedAs !== id) conflicts.push({ kind: 'exchanged', ...of, recordedAs });
  if (doubtful) conflicts.push({ kind: 'doubtful', ...of });
  const ended = (await ledger.plant(id))?.ended ?? null;
  if (ended !== null && ended < date) conflicts.push({ kind: 'ended', ...of, ended });
  // Where tags were exchanged that is why they were given up.
  const since = issue === null || recordedAs !== id ? null : await givenUp(ledger, id, issue);
  if (issue !== null && since !== null && since <= date) {
    conflicts.push({ kind: 'old-tag', ...of, issue, since });
  }
  const alive = values.alive;
  const other = observations.find(
    (each) => each.date === date && !own.has(each.entry) && (each.values.alive ?? alive) !== alive,
  );
  if (alive !== undefined && other !== undefined) {
    conflicts.push({ kind: 'alive', ...of, alive: String(alive), other: other.number });
  }
  return conflicts;
}

/** The day from which the tag was no plant's current one; null if it still is. */
async function givenUp(ledger: LedgerReader, id: PlantId, issue: number): Promise<string | null> {
  const tags = await ledger.tags(id);
  const tag = tags.find((each) => each.issue === issue);
  const next = tags.find((each) => each.issue > issue);
  return (tag?.voidedAt ?? next?.issuedAt)?.slice(0, 10) ?? null;
}
