/** Damaged tags that a photo shows, by symbol, bars and printed ID; each with the picture that shows why. */
import type { ColourPicture } from '../picture.js';
import type { TagPart } from '../tag-reader.js';
import { offeredByBars } from './bars-read.js';
import { explained, explainedRow } from './explain.js';
import { explainedBars } from './explain-bars.js';
import type { Explanation } from './explain-canvas.js';
import type { Suspect } from './posterior.js';
import { isOffered, isSurelyTag, type LedgerReading, readByLedger } from './read.js';
import { offeredByRows } from './rows-read.js';
import { searchable } from './searchable.js';
import type { TagCodes } from './tag-codes.js';

export interface TagSeen {
  readonly part: TagPart;
  /** Tags of the ledger, likeliest first. */
  readonly suspects: readonly Suspect[];
  /** Draws why it was read so, as a PNG file. */
  readonly explain: () => Promise<Explanation>;
}

/**
 * Surest first. Bars are looked for only where no symbol offers anything; a printed ID alone, where neither does, and no
 * symbol is seen that speaks against it.
 */
export function readDamaged(picture: ColourPicture, codes: TagCodes): TagSeen[] {
  const own = searchable(picture);
  const symbols = readByLedger(own, codes);
  if (symbols.some(isOffered)) return symbolsSeen(symbols, () => picture);
  const bars = offeredByBars(own, codes);
  const isRowAsked = bars.length === 0 && !symbols.some(isSurelyTag);
  const rows = isRowAsked ? offeredByRows(own, codes) : [];
  return [
    ...bars.map((reading) => ({
      part: 'bars' as const,
      suspects: reading.suspects,
      explain: () => explainedBars(picture, reading),
    })),
    ...rows.map((reading) => ({
      part: 'id' as const,
      suspects: reading.suspects,
      explain: () => explainedRow(reading),
    })),
    ...symbolsSeen(symbols, () => picture),
  ];
}

/** @param pictureOf the picture that a reading was made in */
export function symbolsSeen<Reading extends LedgerReading>(
  readings: readonly Reading[],
  pictureOf: (reading: Reading) => ColourPicture,
): TagSeen[] {
  return readings.map((reading) => ({
    part: 'symbol',
    suspects: reading.suspects,
    explain: () => explained(pictureOf(reading), reading),
  }));
}
