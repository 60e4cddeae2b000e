/**
 * Walks that phones send, kept as CSV in the ledger's `walks` folder for `pottag walk`. The same walk that
 * arrives again is kept once.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { InputError } from '../errors.js';
import { writeWhole } from '../files.js';
import { makeFolder } from '../ledger/folders.js';
import type { Ledger } from '../ledger/ledger.js';
import { parseDay } from '../observe/observation.js';
import { knownStations } from '../walk/lines.js';
import { WalkSession } from '../walk/session.js';
import type { SentWalk } from './views.js';

const WALKS_FOLDER = 'walks';

/** Keeps a walk and returns its file. @throws InputError if there is no station in it */
export async function keepWalk(
  ledger: Ledger,
  today: string,
  { walk, date, lines }: SentWalk,
): Promise<string> {
  const session = new WalkSession(ledger.idLength, knownStations(await ledger.stations()));
  for (const line of lines) session.line(line);
  session.end();
  const csv = session.csv();
  if (csv.trimEnd().split('\n').length < 2) {
    throw new InputError('empty-walk', 'No station of this walk says what stands there.', 'Leave it out.');
  }
  const file = join(ledger.folder, WALKS_FOLDER, `${parseDay(date, today)}-${walk.slice(-12)}.csv`);
  if (!existsSync(file)) {
    makeFolder(join(ledger.folder, WALKS_FOLDER));
    writeWhole(file, csv);
  }
  return file;
}
