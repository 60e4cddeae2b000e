/** How often a reader is wrong, beside how often it says that it may be. */

const BOUNDS = [0.5, 0.9, 0.99, 0.999, 0.9999] as const;

interface Band {
  said: number;
  /** How many of them are wrong by the reader's own word. */
  expected: number;
  wrong: number;
  foreign: number;
}

/**
 * - `right`: the tag that is seen
 * - `wrong`: another one, where the ledger holds the tag that is seen
 * - `foreign`: a tag where none of the ledger is seen
 */
export type Outcome = 'right' | 'wrong' | 'foreign';

export class Tally {
  readonly #bands: readonly Band[] = BOUNDS.map(() => ({ said: 0, expected: 0, wrong: 0, foreign: 0 }));

  add(probability: number, outcome: Outcome): void {
    const band = this.#bands[BOUNDS.findLastIndex((bound) => probability >= bound)];
    if (band === undefined) return;
    band.said++;
    band.expected += 1 - probability;
    if (outcome !== 'right') band[outcome]++;
  }

  /** A line for each band of probabilities. */
  lines(): string[] {
    return this.#bands.map(({ said, expected, wrong, foreign }, index) => {
      const band = `said ${BOUNDS[index]} to ${BOUNDS[index + 1] ?? 1}: ${said}`;
      return `${band}; wrong ${wrong} of its own, ${foreign} of none of its own (its own word: ${expected.toFixed(4)})`;
    });
  }
}
