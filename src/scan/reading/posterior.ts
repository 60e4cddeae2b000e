/**
 * Which tag of the ledger a squared-up picture shows, and how surely: against every other tag of the
 * ledger, tags of other ledgers, and modules that follow no tag at all.
 *
 * In two steps. First all tags are ranked by each cell's own evidence. Then the likeliest are looked at
 * whole: given a tag, every cell's colour is known, and a patch that contradicts it is either mud or a
 * refutation. Only the second step says how sure the reading is.
 */
import { TAG_QR_SIZE } from '../../codes/qr-block.js';
import { isDark, tagQrWords } from '../../codes/tag-qr.js';
import { capacity } from '../../ids/allocation.js';
import { type Characters, issueShare } from './characters.js';
import { logEvidence, type Messages, noMessages, propagate } from './cover.js';
import type { Evidence } from './evidence.js';
import { largest, logSumOf } from './numbers.js';
import { idLengthOf, sumsOverDark, type TagCodes } from './tag-codes.js';
import { CELLS, cellOfModule, DARK, LIGHT } from './tag-grid.js';

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
  /** Probability that it is a tag of the ledger. */
  readonly ours: number;
}

const MOST_SUSPECTS = 8;

/**
 * @param agreement how well the place agrees with what is alike on all tags: the score of its pose
 * @param characters what the printed ID beside the symbol says; null where none is seen
 */
export function judge(
  codes: TagCodes,
  evidence: Evidence,
  agreement: number,
  characters: Characters | null,
): Verdict {
  const { varyingCells, texts, strangers } = codes;
  const scores = sumsOverDark(
    codes,
    Float64Array.from(varyingCells, (cell) => evidence.logRatio[cell] as number),
  );
  for (let index = 0; index < scores.length; index++) {
    const text = index < texts.length ? texts[index] : strangers[index - texts.length];
    scores[index] = TRUST * (scores[index] as number) + (characters?.of(text as string) ?? 0);
  }
  const whole = new Whole(codes, evidence, characters);
  const own = ranked(texts, scores.subarray(0, texts.length), whole);
  /** Of such places, so many hold a tag. */
  const tagShare = 1 / (1 + Math.exp((EVEN_AGREEMENT - agreement) / AGREEMENT_STEP));
  const terms = [
    Math.log(tagShare * PRIOR.ledger) + own.logMean,
    Math.log(tagShare * PRIOR.stranger) +
      ofStrangers(codes, scores.subarray(texts.length), whole, characters),
    Math.log(tagShare * PRIOR.anything + 1 - tagShare) + whole.ofAnything,
  ];
  const total = logSumOf(terms);
  return {
    suspects: own.best
      .map(({ text, score }) => ({
        text,
        probability: Math.exp(Math.log((tagShare * PRIOR.ledger) / texts.length) + score - total),
      }))
      .sort((a, b) => b.probability - a.probability),
    ours: Math.exp((terms[0] as number) - total),
  };
}

/**
 * Log of the mean likelihood over the tags of all other ledgers: those that the printed characters look most
 * like, each for itself, and a sample of the rest.
 */
function ofStrangers(
  codes: TagCodes,
  scores: Float32Array,
  whole: Whole,
  characters: Characters | null,
): number {
  const sample = ranked(codes.strangers, scores, whole).logMean;
  if (characters === null) return sample;
  const alike = strangersAlike(codes, characters);
  return logSumOf([sample, ...alike.map(({ text, logShare }) => whole.ofTag(text) + logShare)]);
}

/**
 * Tags that the printed characters look most like, neither of the ledger nor of the sample of strangers; with
 * the log of each one's share of all tags that could be printed.
 */
export function strangersAlike(
  codes: TagCodes,
  characters: Characters,
): { readonly text: string; readonly logShare: number }[] {
  const alike = new Set(characters.likeliest(MOST_SUSPECTS));
  for (const text of codes.texts) alike.delete(text);
  for (const text of codes.strangers) alike.delete(text);
  const length = idLengthOf(codes);
  return [...alike].map((text) => ({
    text,
    logShare: Math.log(issueShare(Number(text.slice(length + 1))) / capacity(length)),
  }));
}

/** The picture's log-likelihood, looked at whole. */
class Whole {
  readonly #codes: TagCodes;
  readonly #evidence: Evidence;
  readonly #characters: Characters | null;
  readonly #start: Messages = noMessages();
  readonly ofAnything: number;

  constructor(codes: TagCodes, evidence: Evidence, characters: Characters | null) {
    this.#codes = codes;
    this.#evidence = evidence;
    this.#characters = characters;
    const darkShare = Float64Array.from(codes.known, (colour) =>
      colour === DARK ? 1 : colour === LIGHT ? 0 : 0.5,
    );
    codes.varyingCells.forEach((cell, bit) => {
      darkShare[cell] = codes.darkShare[bit] as number;
    });
    this.ofAnything = TRUST * this.#ofCells(darkShare, this.#start, 10) + (characters?.ofAnything ?? 0);
  }

  ofTag(text: string): number {
    const { known } = this.#codes;
    const words = tagQrWords(text);
    const darkShare = Float64Array.from(known, (colour) => (colour === DARK ? 1 : 0));
    for (let module = 0; module < TAG_QR_SIZE * TAG_QR_SIZE; module++) {
      darkShare[cellOfModule(module)] = Number(isDark(words, module));
    }
    const { fromAbove, fromBelow, fromLeft, fromRight } = this.#start;
    const messages = {
      fromAbove: fromAbove.slice(),
      fromBelow: fromBelow.slice(),
      fromLeft: fromLeft.slice(),
      fromRight: fromRight.slice(),
    };
    return TRUST * this.#ofCells(darkShare, messages, 6) + (this.#characters?.of(text) ?? 0);
  }

  #ofCells(darkShare: Float64Array, messages: Messages, sweeps: number): number {
    const { logInk, logPaper, logCover } = this.#evidence;
    const logBare = new Float64Array(CELLS);
    const logOdds = new Float64Array(CELLS);
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
      logOdds[cell] = (logCover[cell] as number) - (logBare[cell] as number);
    }
    propagate(logOdds, messages, sweeps);
    return logEvidence(logOdds, logBare, messages);
  }
}

interface Ranked {
  readonly best: readonly { readonly text: string; readonly score: number }[];
  /** Log of the mean likelihood over all of them. */
  readonly logMean: number;
}

/** The likeliest of some tags looked at whole; of the rest, what their `scores` by cell and character say. */
function ranked(texts: readonly string[], scores: Float32Array, whole: Whole): Ranked {
  if (texts.length === 0) return { best: [], logMean: Number.NEGATIVE_INFINITY };
  const indices = largest(scores, MOST_SUSPECTS);
  const best = indices.map((index) => ({
    text: texts[index] as string,
    score: whole.ofTag(texts[index] as string),
  }));
  // Where both are known, the whole view and the ranking differ by this much on average.
  const offset =
    best.reduce((sum, { score }, at) => sum + score - (scores[indices[at] as number] as number), 0) /
    best.length;
  const chosen = new Set(indices);
  const top = Math.max(...best.map(({ score }) => score));
  let sum = best.reduce((all, { score }) => all + Math.exp(score - top), 0);
  for (let index = 0; index < texts.length; index++) {
    if (!chosen.has(index)) sum += Math.exp((scores[index] as number) + offset - top);
  }
  return { best, logMean: top + Math.log(sum / texts.length) };
}
