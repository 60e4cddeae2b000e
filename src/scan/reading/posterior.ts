/**
 * Which tag of the ledger a squared-up picture shows, and how surely: against every other tag of the
 * ledger, tags of other ledgers, and modules that follow no tag at all.
 *
 * In two steps. First all tags are ranked by each cell's own evidence. Then the likeliest are looked at
 * whole: given a tag, every cell's colour is known, and a patch that contradicts it is either mud or a
 * refutation. Only the second step says how sure the reading is.
 */
import { logEvidence, type Messages, noMessages, propagate } from './cover.js';
import type { Evidence } from './evidence.js';
import { sumsOverDark, type TagCodes } from './tag-codes.js';
import { CELLS, DARK, LIGHT } from './tag-grid.js';

/** Of tags photographed, so many are of this ledger, of another one, and no tag of ours that was ever printed. */
const PRIOR = { ledger: 0.9, stranger: 0.05, anything: 0.05 } as const;

/**
 * Agreement of a place with the grid at which it is as likely a tag as not, and what makes it e times as
 * likely. Of 63 photos of other codes and things the best place agreed by 468 at most; tags whose symbol
 * was three fifths under mud by 551 at least.
 */
const EVEN_AGREEMENT = 450;
const AGREEMENT_STEP = 30;

/**
 * Neighbouring cells err together (a fold, glare, a pose a little off), so that they say less than as
 * many independent ones would: measured, see tests/bench.
 */
const TRUST = 0.6;

export interface Suspect {
  readonly text: string;
  readonly probability: number;
}

export interface Verdict {
  /** The likeliest tags of the ledger, likeliest first. */
  readonly suspects: readonly Suspect[];
  /** Probability that it is no tag of the ledger. */
  readonly none: number;
}

const MOST_SUSPECTS = 8;

/** @param agreement how well the place agrees with what is alike on all tags: the score of its pose */
export function judge(codes: TagCodes, evidence: Evidence, agreement: number): Verdict {
  const { varyingCells, texts, strangerCount } = codes;
  const sums = sumsOverDark(
    codes,
    Float64Array.from(varyingCells, (cell) => evidence.logRatio[cell] as number),
  );
  const whole = new Whole(codes, evidence);
  const own = ranked(sums, 0, texts.length, whole);
  const strange = ranked(sums, texts.length, strangerCount, whole);
  const isTag = 1 / (1 + Math.exp((EVEN_AGREEMENT - agreement) / AGREEMENT_STEP));
  const terms = [
    Math.log(isTag * PRIOR.ledger) + own.logMean,
    Math.log(isTag * PRIOR.stranger) + strange.logMean,
    Math.log(isTag * PRIOR.anything + 1 - isTag) + TRUST * whole.ofAnything,
  ];
  const total = logSumOf(terms);
  return {
    suspects: own.best
      .map(({ index, score }) => ({
        text: texts[index] as string,
        probability: Math.exp(Math.log((isTag * PRIOR.ledger) / texts.length) + score - total),
      }))
      .sort((a, b) => b.probability - a.probability),
    none: 1 - Math.exp((terms[0] as number) - total),
  };
}

/** The picture's log-likelihood, looked at whole. */
class Whole {
  readonly #codes: TagCodes;
  readonly #evidence: Evidence;
  readonly #start: Messages = noMessages();
  readonly ofAnything: number;

  constructor(codes: TagCodes, evidence: Evidence) {
    this.#codes = codes;
    this.#evidence = evidence;
    const darkShare = Float64Array.from(codes.known, (colour) =>
      colour === DARK ? 1 : colour === LIGHT ? 0 : 0.5,
    );
    codes.varyingCells.forEach((cell, bit) => {
      darkShare[cell] = codes.darkShare[bit] as number;
    });
    this.ofAnything = this.#logLikelihood(darkShare, this.#start, 10);
  }

  ofTag(index: number): number {
    const { varyingCells, bytes, bytesEach, known } = this.#codes;
    const darkShare = Float64Array.from(known, (colour) => (colour === DARK ? 1 : 0));
    varyingCells.forEach((cell, bit) => {
      const byte = bytes[index * bytesEach + (bit >> 3)] as number;
      darkShare[cell] = (byte >> (bit & 7)) & 1;
    });
    const { fromAbove, fromBelow, fromLeft, fromRight } = this.#start;
    const messages = {
      fromAbove: fromAbove.slice(),
      fromBelow: fromBelow.slice(),
      fromLeft: fromLeft.slice(),
      fromRight: fromRight.slice(),
    };
    return this.#logLikelihood(darkShare, messages, 6);
  }

  #logLikelihood(darkShare: Float64Array, messages: Messages, sweeps: number): number {
    const { logInk, logPaper, logCover } = this.#evidence;
    const logBare = new Float64Array(CELLS);
    const odds = new Float64Array(CELLS);
    for (let cell = 0; cell < CELLS; cell++) {
      const share = darkShare[cell] as number;
      logBare[cell] =
        share === 1
          ? (logInk[cell] as number)
          : share === 0
            ? (logPaper[cell] as number)
            : Math.log(
                share * Math.exp(logInk[cell] as number) + (1 - share) * Math.exp(logPaper[cell] as number),
              );
      odds[cell] = (logCover[cell] as number) - (logBare[cell] as number);
    }
    propagate(odds, messages, sweeps);
    return logEvidence(odds, logBare, messages);
  }
}

interface Ranked {
  readonly best: readonly { readonly index: number; readonly score: number }[];
  /** Log of the mean likelihood over all of them. */
  readonly logMean: number;
}

/** The likeliest of `count` tags from `first` on looked at whole; of the rest, what their ranking says. */
function ranked(sums: Float32Array, first: number, count: number, whole: Whole): Ranked {
  if (count === 0) return { best: [], logMean: Number.NEGATIVE_INFINITY };
  const indices = largest(sums, first, count, MOST_SUSPECTS);
  const best = indices.map((index) => ({ index, score: TRUST * whole.ofTag(index) }));
  // Where both are known, the whole view and the ranking differ by this much on average.
  const offset =
    best.reduce((sum, { index, score }) => sum + score - TRUST * (sums[index] as number), 0) / best.length;
  const chosen = new Set(indices);
  let top = Number.NEGATIVE_INFINITY;
  for (const { score } of best) top = Math.max(top, score);
  let sum = best.reduce((all, { score }) => all + Math.exp(score - top), 0);
  for (let index = first; index < first + count; index++) {
    if (!chosen.has(index)) sum += Math.exp(TRUST * (sums[index] as number) + offset - top);
  }
  return { best, logMean: top + Math.log(sum / count) };
}

function logSumOf(terms: readonly number[]): number {
  const top = Math.max(...terms);
  return top + Math.log(terms.reduce((sum, term) => sum + Math.exp(term - top), 0));
}

/** Indices of the largest of `count` values from `first` on, largest first. */
function largest(values: Float32Array, first: number, count: number, most: number): number[] {
  const best: number[] = [];
  for (let index = first; index < first + count; index++) {
    const value = values[index] as number;
    if (best.length === most && value <= (values[best[most - 1] as number] as number)) continue;
    let at = best.length;
    while (at > 0 && (values[best[at - 1] as number] as number) < value) at--;
    best.splice(at, 0, index);
    if (best.length > most) best.pop();
  }
  return best;
}
