/**
 * A field copy: the whole ledger once more, to be written in where the ledger is not. It knows that it is one, by
 * the entry that follows on those that were copied, and `merge` brings home what was recorded after that.
 */
import { mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { InputError } from '../errors.js';
import { makeFolder, writeNotice } from '../ledger/folders.js';
import { copyDatabase, settleDatabase } from '../ledger/snapshot.js';
import { openLedger } from '../ledger/sqlite-ledger.js';
import { copyFilesBeside } from './contents.js';
import { putInPlace, refuseTaken, withStage } from './stage.js';

export interface Copied {
  /** The copy's UUID: that of the entry that made it. */
  readonly copy: string;
  /** Entries of the ledger at home that are in it. */
  readonly entries: number;
  readonly plants: number;
}

/** The ledger at home. */
export interface Home {
  readonly folder: string;
  /** As the copy shall call it. */
  readonly name: string;
}

/**
 * Makes a field copy of the ledger at home, as it is at one moment, in the new folder `target`.
 *
 * @param device for whom or what it is made
 * @throws InputError if the ledger is a field copy itself or `target` is taken, LedgerError if it cannot be used
 */
export async function copyForField(
  { folder, name }: Home,
  target: string,
  device: string,
  by: string,
  now: () => Date,
): Promise<Copied> {
  refuseTaken(target, '--to');
  makeFolder(dirname(target));
  return withStage(target, async (stage) => {
    const made = join(stage, 'made');
    mkdirSync(made);
    copyDatabase(folder, made);
    settleDatabase(made);
    copyFilesBeside(folder, made);
    writeNotice(made);
    const ledger = openLedger(made, now);
    let copied: Copied;
    try {
      const other = await ledger.fieldCopy();
      if (other !== undefined) {
        throw new InputError(
          'field-copy',
          `The ledger in ${name} is a field copy itself, "${other.device}" of the ledger in ${other.of}.`,
          'Make further copies of the ledger at home. Nothing was written.',
        );
      }
      const body = { device, of: name };
      const { id, number } = await ledger.write(by, (writer) => writer.append({ kind: 'copied', body }));
      copied = { copy: id, entries: number - 1, plants: await ledger.plantCount() };
    } finally {
      ledger.close();
    }
    putInPlace(made, target);
    return copied;
  });
}
