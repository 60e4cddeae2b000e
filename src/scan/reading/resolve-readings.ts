/** What damaged tags in a photo name, read by the ledger; and the picture that shows why. */
import type { Ledger } from '../../ledger/ledger.js';
import { loadColours } from '../picture.js';
import { type Candidate, resolve } from '../resolve.js';
import type { PhotoResolution } from '../scans.js';
import type { DamagedTag } from '../tag-reader.js';
import { explainedDamaged, readDamaged } from './damaged.js';
import type { Explanation } from './explain-canvas.js';
import { KeptCodes } from './ledger-codes.js';
import { READ_AT } from './read.js';
import { tagsOf } from './tags-since.js';

/** Less likely tags are no help to someone choosing at a bench. */
const LEAST_PROBABILITY = 0.01;

/** Read where it is as good as certain, else offered; nothing where no tag of the ledger is likely. */
export async function resolveDamaged(
  ledger: Ledger,
  damaged: readonly DamagedTag[],
): Promise<PhotoResolution[]> {
  const resolutions: PhotoResolution[] = [];
  for (const tag of damaged) {
    const resolution = await resolveOne(ledger, tag);
    if (resolution !== null && !resolutions.some(({ text }) => text === resolution.text)) {
      resolutions.push(resolution);
    }
  }
  return resolutions;
}

/** The surest place, as a PNG file; null where nothing like a tag is found, or the ledger never issued one. */
export async function explainPhoto(ledger: Ledger, bytes: Uint8Array): Promise<Explanation | null> {
  const codes = await new KeptCodes(tagsOf(ledger), ledger.idLength).current();
  if (codes === null) return null;
  const picture = await loadColours(bytes);
  return explainedDamaged(picture, readDamaged(picture, codes));
}

async function resolveOne(ledger: Ledger, { suspects, shown }: DamagedTag): Promise<PhotoResolution | null> {
  const [first] = suspects;
  if (first === undefined || first.probability < LEAST_PROBABILITY) return null;
  const how = { by: 'ledger', probability: first.probability, shown } as const;
  if (first.probability >= READ_AT) return { ...(await resolve(ledger, first.text)), how };
  const candidates: Candidate[] = [];
  for (const { text, probability } of suspects) {
    const { plant, status } = await resolve(ledger, text);
    const isKnown = candidates.some((candidate) => candidate.plant.id === plant?.id);
    if (plant === null || isKnown || probability < LEAST_PROBABILITY) continue;
    const which = status === 'current' ? '' : `, its ${status} tag ${text}`;
    candidates.push({ plant, because: `${percent(probability)} likely by what is left of its tag${which}` });
  }
  return {
    text: '?'.repeat(ledger.idLength),
    id: null,
    issue: null,
    status: 'unreadable',
    plant: null,
    candidates,
    how,
  };
}

const percent = (probability: number): string => `${Math.floor(100 * probability)} %`;
