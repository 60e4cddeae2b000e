/** Looks for rows of characters of any wording near a place, and fits them to where they lie exactly. */
import { type Glyph, glyphSet, glyphSetOf, ROWS, SHAPE_ROWS } from './glyphs.js';
import { RowLikeness } from './row-likeness.js';
import { type IdRow, lengthOf, moveAlong, type RowPlace, START_CAPS, type View } from './row-strips.js';

/** A row as it is found first. */
export type RoughRow = Pick<IdRow, 'place' | 'values' | 'score'>;

/** Rows are looked for coarsely with half the samples, up to so many of these higher or lower. */
export const SLACK = 2;
export const COARSE_PER_CAP = SHAPE_ROWS.cap / 2;
const COARSE = glyphSet(0.5, 2);
/** An ID of n characters is this many heights long at most. */
const mostLength = (characters: number): number => 1.2 * characters;
const MOST_ROWS = 2;
const MOST_ROUNDS = 3;
/** A row much less like characters than the best is none. */
const LEAST_OF_BEST = 0.6;
const SIGMAS = [0.6, 1, 1.6] as const;
/** Steps in which a row's place is fitted, in heights of capitals: halved so often. */
const STEPS: RowPlace = [0.12, 0.12, 0.03, 0.03, 0.06, 0.05];
const HALVINGS = 3;
const LEAST_GAIN = 0.1;
/** Sound IDs that a row is held against. */
const SOUND_TRIED = 2;

/** Whether the mean score of a row's characters, for their height squared, is above a limit. */
export const isLegible = ({ score, place, values }: RoughRow, least: number): boolean =>
  score > least * values.length * place[2] ** 2;

/** Neither turned nor skewed nor stretched by more than a pose or a line of pieces may be off. */
export function isUpright([, , alongX, alongY, downX, downY]: RowPlace): boolean {
  return (
    Math.abs(alongY) < 0.12 * alongX &&
    Math.abs(downX) < 0.15 * downY &&
    Math.abs(Math.log(downY / alongX)) < 0.15
  );
}

/** The best few rows that do not all lie in one place. */
export function distinct(rough: readonly RoughRow[]): RoughRow[] {
  const kept: RoughRow[] = [];
  for (const one of rough.toSorted((a, b) => b.score - a.score)) {
    if (kept.length === MOST_ROWS || one.score < LEAST_OF_BEST * (kept[0]?.score ?? 0)) break;
    const isNew = kept.every(({ place }) => {
      const off = Math.abs(place[0] - one.place[0]) + Math.abs(place[1] - one.place[1]);
      return off > 0.5 * place[2] || Math.abs(Math.log(place[2] / one.place[2])) > 0.12;
    });
    if (isNew) kept.push(one);
  }
  return kept;
}

/** Rows of so many characters in a view of the picture. */
export class RowFit {
  readonly #view: View;
  readonly #contrast: number;
  readonly #characters: number;

  /** @param contrast of paper and ink, in grey levels */
  constructor(view: View, contrast: number, characters: number) {
    this.#view = view;
    this.#contrast = contrast;
    this.#characters = characters;
  }

  /** The best rows that begin within `startCaps` heights from a place on, a little higher or lower. */
  look(place: RowPlace, startCaps: number): RoughRow[] {
    const cap = place[2];
    const columns = Math.ceil((startCaps + mostLength(this.#characters)) * COARSE_PER_CAP);
    const strip = this.#view.strip(place, COARSE_PER_CAP, columns, 1 + SLACK, ROWS / 2 + 2 * SLACK);
    return Array.from({ length: 2 * SLACK + 1 }, (_, down) => {
      const likeness = new RowLikeness(strip, columns, down, ROWS / 2, this.#contrast);
      const starts = Math.ceil(startCaps * COARSE_PER_CAP);
      const path = likeness.ofAll(COARSE.id).best(starts, this.#characters);
      const [x, y] = [path.start, down - SLACK].map((samples) => (samples / COARSE_PER_CAP) * cap) as [
        number,
        number,
      ];
      return {
        place: [place[0] + x, place[1] + y, cap, 0, 0, cap],
        values: path.values,
        score: path.score * (cap / COARSE_PER_CAP) ** 2,
      };
    });
  }

  /** By turns where a row lies exactly, given what it says, and what it says, given where it lies. */
  fit({ place, values }: RoughRow, isPossible: (place: RowPlace) => boolean): IdRow {
    let row: IdRow = { place, values, sigma: 1, score: 0 };
    for (let round = 1; ; round++) {
      row = this.#moved(row, isPossible);
      const said = this.#saidBy(row);
      const isSame = said.sigma === row.sigma && said.values.join() === row.values.join();
      if (round === MOST_ROUNDS || isSame) break;
      row = { ...row, ...said };
    }
    return this.#soundly(row, isPossible);
  }

  /** Moves, scales and skews a row to where its characters fit best. */
  #moved(row: IdRow, isPossible: (place: RowPlace) => boolean): IdRow {
    const scoreAt = (place: RowPlace): number => (isPossible(place) ? this.#scoreOf({ ...row, place }) : 0);
    let { place } = row;
    let score = scoreAt(place);
    let share = 1;
    for (let halving = 0; halving <= HALVINGS; ) {
      let isBetter = false;
      for (let index = 0; index < 6; index++) {
        for (const sign of [1, -1]) {
          const step = sign * share * (STEPS[index] as number) * row.place[2];
          const trial = place.with(index, (place[index] as number) + step) as unknown as RowPlace;
          const trialScore = scoreAt(trial);
          if (trialScore <= score + LEAST_GAIN) continue;
          [place, score, isBetter] = [trial, trialScore, true];
          break;
        }
      }
      if (isBetter) continue;
      share /= 2;
      halving++;
    }
    return { ...row, place, score };
  }

  /** The characters that a row looks most like where it lies, and through which blur. */
  #saidBy({ place }: IdRow): Pick<IdRow, 'sigma' | 'values'> {
    const columns = Math.ceil((mostLength(this.#characters) + 0.5) * SHAPE_ROWS.cap);
    const likeness = this.#likeness(place, columns);
    const ways = SIGMAS.map((sigma) => ({
      sigma,
      ...likeness.ofAll(glyphSetOf(sigma).id).best(1, this.#characters),
    }));
    const { sigma, values } = ways.reduce((best, way) => (way.score > best.score ? way : best));
    return { sigma, values };
  }

  /**
   * Where a character is covered in part, another may look more like it, and pull the row out of place. So the
   * likeliest sound IDs, of whatever ledger, are tried in its stead.
   */
  #soundly(row: IdRow, isPossible: (place: RowPlace) => boolean): IdRow {
    const columns = Math.ceil((mostLength(this.#characters) + 2 * START_CAPS) * SHAPE_ROWS.cap);
    const lattice = this.#likeness(moveAlong(row.place, -START_CAPS), columns).ofAll(
      glyphSetOf(row.sigma).id,
    );
    const starts = 2 * START_CAPS * SHAPE_ROWS.cap;
    let best = row;
    for (const { values, start } of lattice.likeliestSound(starts, this.#characters, SOUND_TRIED)) {
      if (values.join() === row.values.join()) return row;
      const place = moveAlong(row.place, start / SHAPE_ROWS.cap - START_CAPS);
      const sound = this.#moved({ ...row, place, values }, isPossible);
      if (sound.score > best.score) best = sound;
    }
    return best;
  }

  #scoreOf({ place, values, sigma }: IdRow): number {
    const { id } = glyphSetOf(sigma);
    const likeness = this.#likeness(place, Math.ceil(lengthOf(values, id)) + 2);
    let [at, score] = [0, 0];
    for (const value of values) {
      const glyph = id[value] as Glyph;
      score += likeness.of(glyph, Math.round(at));
      at += glyph.advance;
    }
    // A larger row has more samples of the same picture, so that each says less.
    return score * (Math.hypot(place[2], place[3]) / SHAPE_ROWS.cap) ** 2;
  }

  #likeness(place: RowPlace, columns: number): RowLikeness {
    const strip = this.#view.strip(place, SHAPE_ROWS.cap, columns, SHAPE_ROWS.above, ROWS);
    return new RowLikeness(strip, columns, 0, ROWS, this.#contrast);
  }
}
