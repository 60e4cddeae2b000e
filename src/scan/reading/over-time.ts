/**
 * The same tags in several pictures, taken one after the other: noise and glare change between them, mud does
 * not.
 *
 * So their probabilities must not be multiplied, as if each picture were another witness. Instead the tag is
 * squared up in each, each cell is averaged over the pictures in which it is bare, and the average is read as
 * one picture is: what is left of noise in it, and what lies on it, is learnt from it anew. One good picture among
 * bad ones may say more than their average. But who chooses among looks errs as often as all of them together
 * (Bonferroni's inequality): half of the error allowed is given to the average, half shared by the pictures.
 */
import type { ColourPicture } from '../picture.js';
import { fitTiles, probeOf } from './agreement.js';
import { type Evidence, evidenceOfCells } from './evidence.js';
import { meanOf } from './numbers.js';
import { judge } from './posterior.js';
import { isRead, type LedgerReading, probabilityOf, readByLedger, shiftOf, surestOf } from './read.js';
import { searchable } from './searchable.js';
import type { TagCodes } from './tag-codes.js';
import { CELLS, VARYING } from './tag-grid.js';

/** A reading, and the picture that its pose belongs to. */
export interface Sighting extends LedgerReading {
  readonly picture: ColourPicture;
}

/** A hand moves a tag by less than this of its diagonal from one picture to the next. */
const MOST_SHIFT = 0.6;
/** Least correlation of the cells that tell tags apart: two tags have none, and one turned over has none. */
const LEAST_LIKENESS = 0.25;
/** What a covered cell still counts in the average, so that one that always is has one. */
const COVERED_WEIGHT = 1e-3;
/** Of the best score in a track. */
const LEAST_SCORE_SHARE = 0.7;
/** A cell was measured over most of its width, and unblurred: nearly its own colour. */
const CELL_BLUR = 0.2;
/** Grey levels between ink and paper in the average: so many that rounding means nothing. */
const AVERAGE_CONTRAST = 160;
const AVERAGE_INK = 40;

/**
 * What stands at each place where a tag may be, surest first; looks at no more pictures than it takes to read
 * one tag. Each pose is that in the reading's own `picture`.
 */
export function readOverTime(pictures: readonly ColourPicture[], codes: TagCodes): Sighting[] {
  let tracks: Sighting[][] = [];
  let combined: Sighting[] = [];
  let count = 0;
  for (const picture of pictures) {
    const readings = readByLedger(searchable(picture), codes).map((reading) => ({ ...reading, picture }));
    tracks = followed(tracks, readings, codes.known);
    count++;
    combined = tracks
      .map((track) =>
        surestOf([
          doubted(averaged(track, codes), count === 1 ? 1 : 2),
          ...track.map((reading) => doubted(reading, count === 1 ? 1 : 2 * count)),
        ]),
      )
      .sort((a, b) => probabilityOf(b) - probabilityOf(a));
    if (isRead(combined[0])) break;
  }
  return combined;
}

/** Each reading put to a track that shows the same tag nearby, or begun as a new one. */
function followed(
  tracks: readonly Sighting[][],
  readings: readonly Sighting[],
  known: Int8Array,
): Sighting[][] {
  const rest = new Set(readings);
  const longer = tracks.map((track) => {
    const last = track.at(-1) as Sighting;
    const [next] = [...rest]
      .filter(
        (reading) =>
          shiftOf(last.pose, reading.pose) < MOST_SHIFT &&
          likeness(last.evidence, reading.evidence, known) > LEAST_LIKENESS,
      )
      .sort((a, b) => b.agreement - a.agreement);
    if (next === undefined) return track;
    rest.delete(next);
    return [...track, next];
  });
  return [...longer, ...[...rest].map((reading) => [reading])];
}

/** Correlation of the shades of cells that differ from tag to tag, as far as they are bare in both. */
function likeness(a: Evidence, b: Evidence, known: Int8Array): number {
  let [weight, sumA, sumB, sumAA, sumBB, sumAB] = [0, 0, 0, 0, 0, 0];
  for (let cell = 0; cell < CELLS; cell++) {
    if (known[cell] !== VARYING) continue;
    const bareness = (1 - (a.covered[cell] as number)) * (1 - (b.covered[cell] as number));
    const [shadeA, shadeB] = [a.shade[cell] as number, b.shade[cell] as number];
    weight += bareness;
    sumA += bareness * shadeA;
    sumB += bareness * shadeB;
    sumAA += bareness * shadeA * shadeA;
    sumBB += bareness * shadeB * shadeB;
    sumAB += bareness * shadeA * shadeB;
  }
  const variance = (squares: number, sum: number) => squares / weight - (sum / weight) ** 2;
  const spread = Math.sqrt(variance(sumAA, sumA) * variance(sumBB, sumB));
  return spread > 0 ? (sumAB / weight - (sumA * sumB) / (weight * weight)) / spread : 0;
}

/** With its doubt, 1 less the probability, so many times as large; what was likelier than not stays so. */
function doubted(reading: Sighting, times: number): Sighting {
  const suspects = reading.suspects.map(({ text, probability }) => ({
    text,
    probability: probability > 0.5 ? Math.max(0.5, 1 - times * (1 - probability)) : probability,
  }));
  return { ...reading, suspects };
}

/** The readings of one tag as one: of those that agree nearly as well as the best, lest a wrong pose spoils it. */
function averaged(track: readonly Sighting[], codes: TagCodes): Sighting {
  const last = track.at(-1) as Sighting;
  const scoreOf = scorerOf(codes.known);
  const scores = track.map(({ evidence }) => scoreOf(evidence.shade));
  const least = LEAST_SCORE_SHARE * Math.max(...scores);
  const chosen = track.filter((_, index) => (scores[index] as number) >= least);
  if (chosen.length === 1) return chosen[0] as Sighting;
  const all = chosen.map(({ evidence }) => evidence);
  const weights = all.map(({ covered }) => covered.map((hidden) => (1 - hidden) ** 2 + COVERED_WEIGHT));
  const mean = (valuesOf: (evidence: Evidence) => Float64Array): Float64Array =>
    Float64Array.from({ length: CELLS }, (_, cell) => {
      let [sum, whole] = [0, 0];
      for (const [index, evidence] of all.entries()) {
        const weight = (weights[index] as Float64Array)[cell] as number;
        sum += weight * (valuesOf(evidence)[cell] as number);
        whole += weight;
      }
      return sum / whole;
    });
  // A picture without colours among others leaves what all of them have.
  const measures = Math.min(...all.map(({ others }) => others.length));
  const cells = {
    levels: mean(({ shade }) => shade).map((shade) => AVERAGE_INK + AVERAGE_CONTRAST * shade),
    others: Array.from({ length: measures }, (_, index) =>
      mean(({ others }) => others[index] as Float64Array),
    ),
  };
  const evidence = evidenceOfCells(cells, codes.known);
  // As much more than that of the pictures as the cells agree better on the average than in them.
  const before = meanOf(scores.filter((score) => score >= least));
  const gain = scoreOf(mean(({ shade }) => shade)) / Math.max(1, before);
  const agreement = gain * meanOf(chosen.map((reading) => reading.agreement));
  // The printed ID as the picture shows it in which it is seen best: one witness, not several.
  const characters = chosen
    .map((reading) => reading.characters)
    .reduce((best, one) => (one !== null && (best === null || one.row.score > best.row.score) ? one : best));
  const { suspects } = judge(codes, evidence, agreement, characters);
  return { ...last, suspects, evidence, agreement, characters };
}

/** How well cells agree with what is alike on all tags. */
function scorerOf(known: Int8Array): (shade: Float64Array) => number {
  const probe = probeOf(known, 1, CELL_BLUR);
  const cells = [...known.keys()].filter((cell) => known[cell] !== VARYING);
  return (shade) =>
    fitTiles(
      probe,
      Float64Array.from(cells, (cell) => AVERAGE_INK + AVERAGE_CONTRAST * (shade[cell] as number)),
    ).score;
}
