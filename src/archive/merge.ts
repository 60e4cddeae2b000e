/**
 * What was recorded in a field copy, brought home: each entry once, known by its UUID, with the time and author it
 * was recorded with. In whatever order copies are merged, and however often, the ledger tells the same in the end:
 * what a copy recorded counts as recorded when the copy was made (the table `merged`).
 */
import { existsSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { InputError } from '../errors.js';
import type { Change } from '../ledger/changes.js';
import type { Ledger, LedgerWriter } from '../ledger/ledger.js';
import { databaseFile } from '../ledger/sqlite-ledger.js';
import { restore } from './backup.js';
import { type Conflict, conflictsAfter } from './conflicts.js';
import { bringPhotos } from './merged-photos.js';
import { type CopyRead, type FieldEntry, readCopy } from './read-copy.js';
import { refuseDamaged } from './sound.js';
import { withStage } from './stage.js';

export interface Merged {
  readonly device: string;
  /** Entries that were not here yet. */
  readonly brought: number;
  /** Of these, observations. */
  readonly observations: number;
  /** Entries that were here already. */
  readonly known: number;
  /** Photos that were not here yet. */
  readonly photos: number;
  readonly conflicts: readonly Conflict[];
}

type Progress = (done: number, of: number) => void;

/**
 * Merges the field copy in the folder `from`, or in its backup, into the ledger at home. All or nothing; the copy
 * is only read.
 *
 * @throws InputError if there is no field copy of this ledger, or this ledger is a field copy; LedgerError if the
 *   copy is damaged, made by a newer version, or the disk is full
 */
export async function mergeCopy(
  ledger: Ledger,
  from: string,
  by: string,
  onProgress: Progress,
): Promise<Merged> {
  const itself = await ledger.fieldCopy();
  if (itself !== undefined) {
    throw refused(
      'field-copy',
      `This ledger is the field copy "${itself.device}" of the ledger in ${itself.of}; only the one at home takes in what copies recorded.`,
      'Merge both into the ledger at home.',
    );
  }
  if (!existsSync(from)) {
    throw refused('no-copy', `There is no ${from}.`, 'Name the folder of a field copy, or its backup.');
  }
  if (statSync(from).isDirectory()) {
    if (!existsSync(databaseFile(from))) {
      throw refused('no-copy', `There is no ledger in ${from}.`, 'Name the folder of a field copy.');
    }
    const save = `Save what can be read of it with "pottag check --ledger ${from} --rebuild NEW-FOLDER", then merge the new folder.`;
    refuseDamaged(from, onProgress, `The field copy in ${from} is damaged`, `Nothing was merged. ${save}`);
    return mergeSound(ledger, from, by);
  }
  return withStage(ledger.folder, async (stage) => {
    const unpacked = join(stage, 'copy');
    await restore(from, unpacked, onProgress); // Which checks it.
    return mergeSound(ledger, unpacked, by);
  });
}

async function mergeSound(ledger: Ledger, from: string, by: string): Promise<Merged> {
  const copy = await readCopy(from);
  if (copy === undefined) {
    throw refused(
      'not-a-copy',
      `The ledger in ${from} is no field copy.`,
      'Name a folder that "pottag copy" made, or the backup of one.',
    );
  }
  await refuseStrange(ledger, copy, from);
  const photos = bringPhotos(from, ledger.folder, copy.entries);
  return ledger.write(by, async (writer) => {
    const { brought, known, conflicts } = await append(writer, copy);
    writer.bringPhotos(photos.photos); // Also of entries that came home before without them.
    return {
      device: copy.device,
      brought: brought.length,
      observations: brought.filter(({ kind }) => kind === 'observed').length,
      known,
      photos: photos.brought,
      conflicts: [...conflicts, ...(await conflictsAfter(writer, copy.entries)), ...photos.conflicts],
    };
  });
}

async function refuseStrange(ledger: Ledger, copy: CopyRead, from: string): Promise<void> {
  const [made] = (await ledger.change(1))?.entries ?? [];
  if (made?.kind !== 'ledger-made' || made.body.ledger !== copy.ledger) {
    throw refused(
      'another-ledger',
      `The field copy in ${from} was made of another ledger, the one in ${copy.of}.`,
      `Merge it there: pottag merge ${from} --ledger ${copy.of}.`,
    );
  }
  if ((await ledger.change(copy.after)) === undefined) {
    throw refused(
      'later-copy',
      `The field copy in ${from} was made when the ledger held entries that are not in this one: this is an older state of it.`,
      'Merge it into the ledger as it was then or later, say a younger backup.',
    );
  }
}

async function append(writer: LedgerWriter, copy: CopyRead) {
  const brought: FieldEntry[] = [];
  const conflicts: Conflict[] = [];
  const undoneTwice: Undone[] = [];
  let known = 0;
  /** What the copy took back, as far as it has been gone through. */
  const takenBack = new Set<string>();
  for (const entry of copy.entries) {
    const { id, at, by } = entry;
    const here = await writer.change(id);
    if (here !== undefined) {
      known++;
      conflicts.push(...differing(entry, here));
    } else {
      const undone = await undoneHere(writer, entry, takenBack);
      if (undone !== undefined) undoneTwice.push(undone);
      await writer.append(entry, id, { at, by });
      brought.push(entry);
    }
    if (entry.kind === 'withdrawn') takenBack.add(entry.body.entry);
    if (entry.kind === 'restored') takenBack.delete(entry.body.entry);
  }
  if (brought.length > 0) {
    const { entry, device, after } = copy;
    const body = { copy: entry, device, after, entries: brought.length };
    await writer.append({ kind: 'merged', body });
  }
  for (const undone of undoneTwice) conflicts.push(...(await conflictOf(writer, undone)));
  return { brought, known, conflicts };
}

/** Two entries of one UUID that do not say the same: one of them is not what was recorded. */
function differing(entry: FieldEntry, { number, entries: [here] }: Change): Conflict[] {
  if (entry.kind !== 'observed') return [];
  if (here?.kind === 'observed' && isDeepStrictEqual(here.body, entry.body)) return [];
  const { id, date, values } = entry.body;
  return [{ kind: 'differs', number, entry: entry.id, id, date, values }];
}

/** Whether what the entry takes back, or puts back, is not here what it was in the copy then. */
async function undoneHere(
  writer: LedgerWriter,
  entry: FieldEntry,
  takenBack: ReadonlySet<string>,
): Promise<Undone | undefined> {
  if (entry.kind !== 'withdrawn' && entry.kind !== 'restored') return undefined;
  const named = (await writer.change(entry.body.entry))?.entries[0];
  if (named === undefined || named.stands !== takenBack.has(named.id)) return undefined;
  return { kind: named.stands ? 'put-back-here' : 'taken-back-here', named: named.id };
}

interface Undone {
  readonly kind: 'put-back-here' | 'taken-back-here';
  readonly named: string;
}

/** With what counts now that all is here. */
async function conflictOf(writer: LedgerWriter, { kind, named }: Undone): Promise<Conflict[]> {
  const entry = (await writer.change(named))?.entries[0];
  if (entry?.kind !== 'observed') return [];
  const { number, stands, body } = entry;
  return [{ kind, number, entry: named, id: body.id, date: body.date, stands }];
}

function refused(code: string, message: string, hint: string): InputError {
  return new InputError(code, message, `${hint} Nothing was merged.`);
}
