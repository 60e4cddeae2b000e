/**
 * The report: all a breeder decides by, on one page.
 */
import { existsSync, mkdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { reportCrosses } from '../breeding/crosses.js';
import { rankKeepers } from '../breeding/keepers.js';
import { InputError } from '../errors.js';
import { explainWrite, writeWhole } from '../files.js';
import type { LedgerReader } from '../ledger/ledger.js';
import { findDoubts } from '../walk/doubts/doubts.js';
import { benchSection } from './bench-map.js';
import { cautionsSection } from './cautions.js';
import { crossesSection } from './crosses.js';
import { firstFruitSection } from './first-fruit.js';
import { surveyGarden } from './garden.js';
import type { Section } from './html.js';
import { keepersSection, MOST_RANKED } from './keepers.js';
import { GENERATOR, page } from './page.js';
import { ripeningSection } from './ripening.js';
import { asOf, summarySection } from './summary.js';

const FILE = 'index.html';

/** Of reading; drawing takes next to nothing. */
const STEPS = 4;

export interface Written {
  readonly folder: string;
  readonly file: string;
  readonly bytes: number;
  readonly sections: readonly Pick<Section, 'id' | 'title' | 'plots'>[];
}

/** Reads the whole ledger a few times; the page stays within a few megabytes however large it is. */
export async function makeReport(
  ledger: LedgerReader,
  today: string,
  onProgress: (done: number, of: number) => void = () => {},
): Promise<{ readonly text: string; readonly sections: readonly Section[] }> {
  const garden = await surveyGarden(ledger);
  onProgress(1, STEPS);
  const crosses = await reportCrosses(ledger, today);
  onProgress(2, STEPS);
  const keepers = await rankKeepers(ledger, today, {}, MOST_RANKED);
  const untagged = await ledger.count({ untagged: true, alive: true });
  onProgress(3, STEPS);
  const { doubts } = await findDoubts(ledger);
  onProgress(STEPS, STEPS);
  const sections = [
    summarySection({ garden, crosses, keepers, untagged, doubts }),
    crossesSection(crosses),
    firstFruitSection(crosses),
    keepersSection(keepers),
    await benchSection(ledger, garden, keepers.named),
    ripeningSection(garden, crosses),
    cautionsSection(),
  ];
  return { text: page('What the seedlings are worth', asOf(today), sections), sections };
}

/**
 * Writes `index.html` into the folder, which is made if it is not there; nothing else in it is touched.
 * @throws InputError if the folder cannot be written, or holds an `index.html` that is not a report
 */
export async function writeReport(
  ledger: LedgerReader,
  today: string,
  folder: string,
  onProgress?: (done: number, of: number) => void,
): Promise<Written> {
  const file = join(folder, FILE);
  refuseForeign(folder, file);
  const { text, sections } = await makeReport(ledger, today, onProgress);
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw explainWrite(folder, error);
  }
  writeWhole(file, text);
  return {
    folder,
    file,
    bytes: Buffer.byteLength(text),
    sections: sections.map(({ id, title, plots }) => ({ id, title, plots })),
  };
}

function refuseForeign(folder: string, file: string): void {
  if (folder === '') {
    throw new InputError('no-folder-name', 'The name of the folder is empty.', 'Name a folder with --out.');
  }
  if (existsSync(folder) && !statSync(folder).isDirectory()) {
    throw new InputError('not-a-folder', `${folder} is a file, not a folder.`, 'Name a folder with --out.');
  }
  if (!existsSync(file)) return;
  const isOurs = statSync(file).isFile() && readFileSync(file, 'utf8').includes(GENERATOR);
  if (isOurs) return;
  throw new InputError(
    'not-our-page',
    `${file} is there already and is not a report of Pottag.`,
    'Name another folder with --out, or move that file aside. Nothing was changed.',
  );
}
