/** Whether the server holds the same as this machine's copy of a shared ledger, which is checked by itself. */
import type { Finding } from '../check.js';
import { Database } from '../database.js';
import { journalEntries, type LastEntry } from '../journal.js';
import { databaseFile } from '../sqlite-ledger.js';
import type { SharedAddress } from './address.js';
import { JournalServer } from './server.js';

/** So many entries are fetched at once. */
const BATCH = 10_000;

export async function checkServer({ url, name, folder }: SharedAddress): Promise<Finding[]> {
  const server = new JournalServer(url, name);
  const database = Database.openOrCreate(databaseFile(folder));
  try {
    database.execute('BEGIN'); // One state throughout; the server may hold more by now.
    return [...(await differing(server, journalEntries(database))), ...(await damagedFiles(server))];
  } finally {
    database.rollback();
    database.close();
    server.close();
  }
}

async function differing(server: JournalServer, kept: Iterator<LastEntry>): Promise<Finding[]> {
  for (let first = 1; ; first += BATCH) {
    const batch = await server.entriesFrom(first, BATCH);
    for (let at = 0; at < BATCH; at++) {
      const next = kept.next();
      if (next.done === true) return [];
      const there = batch[at];
      const { seq, hash } = next.value;
      if (there?.seq === seq && Buffer.from(hash).equals(there.hash)) continue;
      const what = 'it is not what the copy on this machine holds';
      return [{ kind: 'damage', where: `entry ${seq} at ${server.name}`, what }];
    }
  }
}

async function damagedFiles(server: JournalServer): Promise<Finding[]> {
  const files = await server.damagedFiles();
  return files.map(({ folder, file }) => ({
    kind: 'file',
    where: `${folder}/${file} at ${server.name}`,
    what: 'its bytes are not what they were',
  }));
}
