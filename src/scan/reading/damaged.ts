/** Damaged tags that a photo shows, by symbol and by bars; and the picture that shows why. */
import type { ColourPicture } from '../picture.js';
import { type BarReading, offeredByBars } from './bars-read.js';
import { explained } from './explain.js';
import { explainedBars } from './explain-bars.js';
import type { Explanation } from './explain-canvas.js';
import { isOffered, type LedgerReading, readByLedger } from './read.js';
import type { TagCodes } from './tag-codes.js';

/** Each surest first. */
export interface Damaged {
  readonly symbols: readonly LedgerReading[];
  /** Looked for only where no symbol offers anything. */
  readonly bars: readonly BarReading[];
}

export function readDamaged(picture: ColourPicture, codes: TagCodes): Damaged {
  const symbols = readByLedger(picture, codes);
  return { symbols, bars: symbols.some(isOffered) ? [] : offeredByBars(picture, codes) };
}

/** Why the surest of them was read as it was, as a PNG file; null where there is none. */
export async function explainedDamaged(
  picture: ColourPicture,
  { symbols: [symbol], bars: [bars] }: Damaged,
): Promise<Explanation | null> {
  if (bars !== undefined) return explainedBars(picture, bars);
  return symbol === undefined ? null : explained(picture, symbol);
}
