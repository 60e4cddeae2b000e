/**
 * Reads a tag of which only the large printed ID is left, by the ledger: the rows of characters in a picture are
 * held against every tag ever issued.
 */
import type { Point } from '../point.js';
import { type Characters, charactersOf } from './characters.js';
import { largest, logSumOf } from './numbers.js';
import { flatPose, type Pose } from './pose.js';
import { type Suspect, strangersAlike } from './posterior.js';
import { onlyOffered, probabilityOf } from './read.js';
import { distinct, isLegible, isUpright, type RoughRow, RowFit } from './row-fit.js';
import { type IdRow, stripsOf, View } from './row-strips.js';
import { capOf, findRows, type PieceRow } from './rows-find.js';
import type { Pyramid, Searchable } from './searchable.js';
import { idLengthOf, type TagCodes } from './tag-codes.js';
import { GRID } from './tag-grid.js';

export interface RowReading {
  /** Tag texts, likeliest first, with the probability that it is this tag of all there could be. */
  readonly suspects: readonly Suspect[];
  readonly characters: Characters;
}

/**
 * Of rows that look like an ID, so many are expected to be of this ledger, of another garden, and none at all,
 * before they are read. Whoever photographs a tag means it; but labels, lists and boxes bear characters too.
 */
const PRIOR = { ledger: 0.45, stranger: 0.3, anything: 0.25 } as const;
/** Other lines of a tag may name another plant, such as the parent of a cutting: the ID is the largest. */
const LEAST_OF_LARGEST = 0.7;
const MOST_SUSPECTS = 8;
/** Modules to a capital's height, as if a symbol were there. */
const CAP_MODULES = 6;
/** Heights that are tried, of that between the edges of the pieces. */
const CAPS = [0.93, 1, 1.075] as const;
/** An ID begins so far, in heights, before or after where the first of its characters that is seen would put it. */
const START_SLACK = 0.4;
/** Width of a usual character, in heights. */
const ADVANCE_CAPS = 0.95;
/** So many rows, those most like characters, are fitted, which takes most of the time. */
const MOST_FITTED = 4;
/**
 * Mean score of a character, for its height squared, of a row that says anything where nothing else tells that it
 * is one: when it is found roughly, and when it is fitted. The best row of 320 pictures without a tag had 0.69, one
 * under splashes that looked like another tag 0.83; IDs that were read rightly 0.86 at least, whole ones 1.1 to 1.5.
 */
const LEAST_SCORE = { rough: 0.25, fitted: 0.85 };

/**
 * Tags that printed IDs name surely enough to ask whether it is this one. They are never taken: an ID may stand on
 * something else than its plant's tag.
 */
export const offeredByRows = (picture: Searchable, codes: TagCodes): RowReading[] =>
  onlyOffered(readRowsByLedger(picture, codes));

/** What the largest rows of characters say, surest first. */
export function readRowsByLedger(picture: Searchable, codes: TagCodes): RowReading[] {
  return rowsIn(picture, idLengthOf(codes))
    .map((characters) => ({ characters, suspects: judgeRow(codes, characters) }))
    .sort((a, b) => probabilityOf(b) - probabilityOf(a));
}

/** The largest rows that look like an ID of so many characters, whatever it says. */
export function rowsIn({ planes, levels }: Searchable, length: number): Characters[] {
  const rows = levels
    .flatMap((plane, level) =>
      findRows(plane).flatMap((seen) => [seen, turnedOver(seen)].map((way) => scaled(way, 2 ** level))),
    )
    .map((seen) => looked(levels, seen, length))
    .filter(({ rough }) => rough.length > 0)
    .sort((a, b) => (b.rough[0] as RoughRow).score - (a.rough[0] as RoughRow).score)
    .slice(0, MOST_FITTED)
    .flatMap((one) => {
      const row = fittedRow(one);
      return row === null ? [] : [{ ...one, row }];
    });
  const largestPx = Math.max(...rows.map(({ seen }) => capOf(seen)));
  return rows
    .filter(({ seen }) => capOf(seen) >= LEAST_OF_LARGEST * largestPx)
    .flatMap(({ row, pose }) => {
      const characters = charactersOf(row, stripsOf(levels, planes, pose, row));
      return characters === null ? [] : [characters];
    });
}

/** A row of pieces, and the characters that it looks most like at first, best first. */
interface Looked {
  readonly seen: PieceRow;
  /** Of a symbol as if there were one, whose upper left corner is the row's. */
  readonly pose: Pose;
  readonly fit: RowFit;
  readonly rough: readonly RoughRow[];
}

function looked(levels: Pyramid, seen: PieceRow, characters: number): Looked {
  const pose = poseOf(seen);
  const fit = new RowFit(new View(levels, pose), seen.contrast, characters);
  const hidden = Math.max(0, characters - seen.pieces) * ADVANCE_CAPS;
  const rough = CAPS.flatMap((share) => {
    const cap = CAP_MODULES * share;
    const before = (hidden + START_SLACK) * cap;
    const place = [-before, (CAP_MODULES - cap) / 2, cap, 0, 0, cap] as const;
    return fit.look(place, hidden + 2 * START_SLACK);
  });
  return { seen, pose, fit, rough: distinct(rough.filter((row) => isLegible(row, LEAST_SCORE.rough))) };
}

/** Fitted to the characters that it looks most like; null if it looks like none. */
function fittedRow({ fit, rough }: Looked): IdRow | null {
  const rows = rough
    .map((row) => fit.fit(row, isUpright))
    .filter((row) => isLegible(row, LEAST_SCORE.fitted));
  return rows.reduce<IdRow | null>(
    (best, row) => (best === null || row.score > best.score ? row : best),
    null,
  );
}

function scaled(seen: PieceRow, scale: number): PieceRow {
  const vector = ({ x, y }: Point): Point => ({ x: x * scale, y: y * scale });
  const { x, y } = seen.origin;
  return {
    ...seen,
    origin: { x: (x + 0.5) * scale - 0.5, y: (y + 0.5) * scale - 0.5 },
    along: vector(seen.along),
    down: vector(seen.down),
  };
}

function turnedOver(row: PieceRow): PieceRow {
  const { origin, along, down, length } = row;
  return {
    ...row,
    origin: { x: origin.x + length * along.x + down.x, y: origin.y + length * along.y + down.y },
    along: { x: -along.x, y: -along.y },
    down: { x: -down.x, y: -down.y },
  };
}

function poseOf({ origin, along, down }: PieceRow): Pose {
  const side = GRID / CAP_MODULES;
  const corner = (right: number, below: number) => ({
    x: origin.x + side * (right * along.x + below * down.x),
    y: origin.y + side * (right * along.y + below * down.y),
  });
  return flatPose([corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)]);
}

/** The likeliest tags against the others of the ledger, those of other gardens, and any text or none. */
export function judgeRow(codes: TagCodes, characters: Characters): Suspect[] {
  const { texts, strangers } = codes;
  const scores = Float32Array.from(texts, (text) => characters.of(text));
  const alike = strangersAlike(codes, characters).map(({ text, logShare }) => characters.of(text) + logShare);
  const sample = strangers.map((text) => characters.of(text) - Math.log(strangers.length));
  const total = logSumOf([
    Math.log(PRIOR.ledger / texts.length) + logSumOf(scores),
    Math.log(PRIOR.stranger) + logSumOf([...sample, ...alike]),
    Math.log(PRIOR.anything) + characters.ofAnything,
  ]);
  return largest(scores, MOST_SUSPECTS).map((index) => ({
    text: texts[index] as string,
    probability: Math.exp(Math.log(PRIOR.ledger / texts.length) + (scores[index] as number) - total),
  }));
}
