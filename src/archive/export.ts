/**
 * A ledger as CSV with a data package, and a ledger from such a folder. Lossless: the same entries in the
 * same order under the same hashes.
 */
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { InputError } from '../errors.js';
import type { CheckReport } from '../ledger/check.js';
import type { Ledger } from '../ledger/ledger.js';
import { copyDatabase } from '../ledger/snapshot.js';
import { openLedger } from '../ledger/sqlite-ledger.js';
import { type JournalEntry, makeFromJournal, readJournal } from '../ledger/transfer.js';
import { copyFilesBeside } from './contents.js';
import { readTable, writeTable } from './csv.js';
import { describePackage, PACKAGE_FILE } from './data-package.js';
import { refuseDamaged } from './sound.js';
import { putInPlace, refuseTaken, withStage } from './stage.js';
import {
  JOURNAL,
  type ObservationOfPlant,
  observationsTable,
  PLANTS,
  type SeenTrait,
  TAGS,
  type Table,
  type TagOfPlant,
} from './tables.js';

const JOURNAL_FILE = `${JOURNAL.name}.csv`;

export interface Exported {
  readonly entries: number;
  readonly plants: number;
  readonly tags: number;
  readonly observations: number;
}

/**
 * Writes the ledger in `folder`, as it is at one moment, to the new folder `target`. Time grows with the
 * number of entries; memory does not.
 *
 * @throws InputError if `target` is taken or cannot be written, LedgerError if the ledger cannot be used
 */
export async function exportLedger(folder: string, target: string, now: () => Date): Promise<Exported> {
  refuseTaken(target, '--to');
  return withStage(target, async (stage) => {
    const [snapshot, made] = [join(stage, 'snapshot'), join(stage, 'made')];
    mkdirSync(snapshot);
    mkdirSync(made);
    copyDatabase(folder, snapshot);
    const ledger = openLedger(snapshot, now);
    try {
      const observations = observationsTable(await traitsSeen(ledger));
      const write = <Row>(table: Table<Row>, rows: AsyncIterable<Row> | Iterable<Row>) =>
        writeTable(join(made, `${table.name}.csv`), table, rows);
      const counts = {
        entries: await write(JOURNAL, readJournal(snapshot)),
        plants: await write(PLANTS, await ledger.plants({})),
        tags: await write(TAGS, tagsOf(ledger)),
        observations: await write(observations, observationsOf(ledger)),
      };
      copyFilesBeside(folder, made);
      const tables = [JOURNAL, PLANTS, TAGS, observations];
      const described = await describePackage(made, tables, { at: now(), title: 'A ledger of seedlings' });
      writeFileSync(join(made, PACKAGE_FILE), `${JSON.stringify(described, null, 2)}\n`);
      putInPlace(made, target);
      return counts;
    } finally {
      ledger.close();
    }
  });
}

async function traitsSeen(ledger: Ledger): Promise<SeenTrait[]> {
  const isNumber = new Map<string, boolean>();
  for await (const { values } of observationsOf(ledger)) {
    for (const [name, value] of Object.entries(values)) {
      isNumber.set(name, (isNumber.get(name) ?? true) && typeof value === 'number');
    }
  }
  return [...isNumber]
    .map(([name, all]) => ({ name, isNumber: all }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

async function* tagsOf(ledger: Ledger): AsyncGenerator<TagOfPlant> {
  for (const { id } of await ledger.plants({})) {
    for (const tag of await ledger.tags(id)) yield { ...tag, id };
  }
}

async function* observationsOf(ledger: Ledger): AsyncGenerator<ObservationOfPlant> {
  for await (const { plant, observations } of ledger.histories({})) {
    for (const observation of observations) yield { ...observation, id: plant.id };
  }
}

/**
 * Makes the ledger of an export in `folder`, where there must be none, and checks it.
 *
 * @throws InputError if `from` is no export or `folder` is taken, LedgerError if what it holds is damaged;
 *   nothing is left behind then
 */
export async function importLedger(
  from: string,
  folder: string,
  onProgress: (done: number, of: number) => void,
): Promise<CheckReport> {
  refuseTaken(folder, '--ledger');
  const journal = join(from, JOURNAL_FILE);
  if (!existsSync(journal)) {
    throw new InputError(
      'no-export',
      `There is no ${JOURNAL_FILE} in ${from}.`,
      'Name a folder that pottag export made.',
    );
  }
  return withStage(folder, async (stage) => {
    await makeFromJournal(stage, entriesIn(journal));
    copyFilesBeside(from, stage);
    const hint = 'Take another copy. Nothing was made.';
    const report = refuseDamaged(stage, onProgress, `What ${from} holds is no sound ledger`, hint);
    putInPlace(stage, folder);
    return report;
  });
}

async function* entriesIn(file: string): AsyncGenerator<JournalEntry> {
  for await (const [seq = '', id = '', at = '', by = '', kind = '', body = '', hash = ''] of readTable(
    file,
  )) {
    yield { seq: Number(seq), id, at, by, kind, body, hash: Buffer.from(hash, 'hex') };
  }
}
