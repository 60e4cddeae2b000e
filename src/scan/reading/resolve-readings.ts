/** What damaged tags in a photo name, read by the ledger; and the picture that shows why. */
import type { Ledger } from '../../ledger/ledger.js';
import type { Plant } from '../../ledger/model.js';
import { likelihoodInWords } from '../../wording.js';
import { type Candidate, resolve } from '../resolve.js';
import type { PhotoResolution } from '../scans.js';
import type { DamagedTag, TagPart } from '../tag-reader.js';
import type { Suspect } from './posterior.js';
import { isOffered, isRead, LEAST_NAMED, probabilityOf } from './read.js';

/**
 * Read where it is as good as certain, else offered; nothing where no tag of the ledger is likely.
 * @param damaged surest first
 */
export async function resolveDamaged(
  ledger: Ledger,
  damaged: readonly DamagedTag[],
): Promise<PhotoResolution[]> {
  const resolutions: PhotoResolution[] = [];
  for (const { part, suspects, shown } of damaged.filter(isRead)) {
    const { text, probability } = suspects[0] as Suspect;
    if (resolutions.some((resolution) => resolution.text === text)) continue;
    resolutions.push({ ...(await resolve(ledger, text)), how: { by: 'ledger', part, probability, shown } });
  }
  const [surest, ...others] = damaged.filter((tag) => !isRead(tag));
  if (surest === undefined) return resolutions;
  // Beside a tag that was read, what is hardly likely is no tag: no question is to keep that one from being recorded.
  const isAsked = resolutions.length > 0 ? isOffered(surest) : probabilityOf(surest) >= LEAST_NAMED;
  if (!isAsked) return resolutions;
  // One question for all of them: where a photo shows two tags, neither is silently preferred.
  return [...resolutions, await offered(ledger, surest, others.filter(isOffered))];
}

async function offered(
  ledger: Ledger,
  surest: DamagedTag,
  others: readonly DamagedTag[],
): Promise<PhotoResolution> {
  const plants: LikelyPlant[] = [];
  for (const tag of [surest, ...others]) plants.push(...(await plantsOf(ledger, tag)));
  plants.sort((a, b) => b.probability - a.probability);
  const candidates: Candidate[] = [];
  for (const { plant, probability, by } of plants) {
    if (probability < LEAST_NAMED) break;
    if (candidates.some((candidate) => candidate.plant.id === plant.id)) continue;
    candidates.push({ plant, because: `${likelihoodInWords(probability)} likely by ${by}`, probability });
  }
  return {
    text: '?'.repeat(ledger.idLength),
    id: null,
    issue: null,
    status: 'unreadable',
    plant: null,
    voidedBecause: null,
    candidates,
    how: {
      by: 'ledger',
      part: surest.part,
      probability: plants[0]?.probability ?? 0,
      shown: surest.shown,
    },
  };
}

interface LikelyPlant {
  readonly plant: Plant;
  /** That it is any tag of this plant. */
  readonly probability: number;
  /** In words, what was read of its tag, and of which one, unless the current. */
  readonly by: string;
}

const READ_OF: Readonly<Record<TagPart, string>> = {
  symbol: 'what is left of its tag',
  bars: 'what is left of its bars',
  id: 'the printed ID alone',
};

async function plantsOf(ledger: Ledger, { part, suspects }: DamagedTag): Promise<LikelyPlant[]> {
  const plants = new Map<string, LikelyPlant>();
  for (const { text, probability } of suspects) {
    const { plant, status } = await resolve(ledger, text);
    if (plant === null) continue;
    const by = `${READ_OF[part]}${status === 'current' ? '' : `, its ${status} tag ${text}`}`;
    const before = plants.get(plant.id) ?? { plant, probability: 0, by };
    plants.set(plant.id, { ...before, probability: before.probability + probability });
  }
  return [...plants.values()];
}
