/** The tags that a ledger issued, asked for by whoever keeps them. */
import type { LedgerReader } from '../../ledger/ledger.js';

/**
 * The tags that were issued after an entry of the journal (0: all), in texts parted by spaces, and the
 * last entry that was looked at.
 */
export type TagsSince = (
  entry: number,
) => Promise<{ readonly texts: readonly string[]; readonly entry: number }>;

export function tagsOf(ledger: Pick<LedgerReader, 'tagTexts' | 'lastEntry'>): TagsSince {
  return async (after) => {
    const entry = await ledger.lastEntry();
    const texts: string[] = [];
    if (entry === after) return { texts, entry };
    for await (const some of ledger.tagTexts(after, entry)) {
      texts.push(some.join(' '));
      await new Promise(setImmediate); // A million tags take a second: a server is to answer meanwhile.
    }
    return { texts, entry };
  };
}
