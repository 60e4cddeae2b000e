/** Damaged tags that a photo shows, by symbol, bars and printed ID; and the picture that shows why. */
import type { ColourPicture } from '../picture.js';
import type { DamagedTag, TagPart } from '../tag-reader.js';
import { type BarReading, offeredByBars } from './bars-read.js';
import { explained, explainedRow } from './explain.js';
import { explainedBars } from './explain-bars.js';
import type { Explanation } from './explain-canvas.js';
import { isOffered, isSurelyTag, type LedgerReading, readByLedger } from './read.js';
import { offeredByRows, type RowReading } from './rows-read.js';
import { searchable } from './searchable.js';
import type { TagCodes } from './tag-codes.js';

/** Each surest first. */
export interface Damaged {
  /** With the ID beside them, where one is seen. */
  readonly symbols: readonly LedgerReading[];
  /** Looked for only where no symbol offers anything. */
  readonly bars: readonly BarReading[];
  /** Printed IDs alone: where neither offers anything, and no symbol is seen that speaks against them. */
  readonly rows: readonly RowReading[];
}

export function readDamaged(picture: ColourPicture, codes: TagCodes): Damaged {
  const own = searchable(picture);
  const symbols = readByLedger(own, codes);
  if (symbols.some(isOffered)) return { symbols, bars: [], rows: [] };
  const bars = offeredByBars(own, codes);
  const isRowAsked = bars.length === 0 && !symbols.some(isSurelyTag);
  return { symbols, bars, rows: isRowAsked ? offeredByRows(own, codes) : [] };
}

/** Surest first: what is offered by bars or printed ID is offered because no symbol is. */
export function tagsSeen({ symbols, bars, rows }: Damaged): Pick<DamagedTag, 'part' | 'suspects'>[] {
  const by = (part: TagPart, readings: readonly Pick<DamagedTag, 'suspects'>[]) =>
    readings.map(({ suspects }) => ({ part, suspects }));
  return [...by('bars', bars), ...by('id', rows), ...by('symbol', symbols)];
}

/** Why the surest of them was read as it was, as a PNG file; null where there is none. */
export async function explainedDamaged(
  picture: ColourPicture,
  { symbols: [symbol], bars: [bars], rows: [row] }: Damaged,
): Promise<Explanation | null> {
  if (bars !== undefined) return explainedBars(picture, bars);
  if (row !== undefined) return explainedRow(row);
  return symbol === undefined ? null : explained(picture, symbol);
}
