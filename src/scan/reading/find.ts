/** Finds tags in a picture by what is left of their frames or their finder patterns: poses, best first. */
import type { Point } from '../point.js';
import { probeOf, Sampler } from './agreement.js';
import { finderPoses } from './finder-poses.js';
import { findersOf } from './finders.js';
import { FourTurns } from './four-turns.js';
import { framesOf } from './frames.js';
import { joinSegments } from './lines.js';
import { isWithin, type Place, scaledPlace } from './place.js';
import { type Plane, smoothed } from './plane.js';
import {
  BENT_ALONG_COLUMNS,
  BENT_ALONG_ROWS,
  FLAT,
  modulePx,
  type Pose,
  placePoints,
  scaledPose,
  turnedPose,
} from './pose.js';
import { type Fitted, refined } from './refine.js';
import { findSegments } from './ridges.js';
import type { Pyramid, Searchable } from './searchable.js';
import { GRID } from './tag-grid.js';

const MOST_LINES = 160;
const MOST_FRAMES = 800;
/** How many rough poses are fitted roughly, and how many of these finely. */
interface Most {
  readonly rough: number;
  readonly fine: number;
}

const MOST: Most = { rough: 40, fine: 8 };
/** Beside a code that was read already: fewer, since a second tag is rare and someone is waiting. */
const MOST_FRAMES_BESIDE = 250;
const MOST_BESIDE: Most = { rough: 12, fine: 4 };
/** In so many pixels, the finder patterns of a tag as wide as a tenth of the picture are still large enough. */
const MOST_FINDER_PIXELS = 0.9e6;
const MOST_BY_FINDERS: Most = { rough: 12, fine: 4 };
/** Tags of one picture lie about as far away as one another: their sizes differ by this factor at most. */
const MOST_SIZE_RATIO = 2.5;
/** Least agreement, in the log of a likelihood ratio, that is worth a closer look. */
const LEAST_ROUGH = 10;
const LEAST_FITTED = 60;
/** What bending a face has to gain. */
const LEAST_BENT_GAIN = 12;
/** A pose is guessed and first fitted in a picture blurred by so much of a module, of these blurs. */
const ROUGH_BLUR = 0.4;
const BLURS_PX = [0.7, 1.2, 2] as const;
/** Blurs of the lens, in modules, of which the one that fits best is taken. */
const FINE_BLURS = [0.25, 0.5, 0.9] as const;

interface Rough {
  readonly pose: Pose;
  readonly level: number;
  readonly score: number;
}

/** A place where a tag may be; fitting it closely takes most of the time, and is not needed for all. */
export interface Find {
  /** Roughly, in pixels of the largest level. */
  readonly pose: Pose;
  /** Null if what is known of tags does not agree with the picture there. */
  readonly fit: () => Fitted | null;
}

/** Places in a picture, in pixels of its largest level. */
export interface Found extends Searchable {
  readonly finds: readonly Find[];
}

/** Where to look for a tag, whichever way it is turned there: poses in pixels of a level. */
type PosesAt = (plane: Plane, level: number) => readonly Pose[];

/** Looks for tags in one picture; what each way of looking needs is made once. */
export class TagSearch {
  readonly #levels: Pyramid;
  readonly #blurred: Blurred;
  readonly #coarse: Sampler;
  readonly #fine: readonly Sampler[];
  readonly #turns: FourTurns;

  constructor(levels: Pyramid, known: Int8Array) {
    this.#levels = levels;
    this.#blurred = new Blurred(levels);
    this.#coarse = new Sampler(probeOf(known, 1, ROUGH_BLUR));
    this.#fine = FINE_BLURS.map((blur) => new Sampler(probeOf(known, 2, blur)));
    this.#turns = new FourTurns(known, this.#coarse.probe);
  }

  /**
   * By their frames, the likeliest places first.
   * @param taken where no tag is looked for, in pixels of the largest level
   */
  byFrames(taken: readonly Place[] = []): Find[] {
    const [mostFrames, most] = taken.length === 0 ? [MOST_FRAMES, MOST] : [MOST_FRAMES_BESIDE, MOST_BESIDE];
    const framesAt: PosesAt = (plane, level) => {
      const places = taken.map((place) => scaledPlace(place, level));
      const isTaken = (x: number, y: number) => places.some((place) => isWithin(place, x, y));
      const segments = findSegments(plane).filter(
        ({ x0, y0, x1, y1 }) => !isTaken((x0 + x1) / 2, (y0 + y1) / 2),
      );
      const lines = joinSegments(segments, MOST_LINES);
      const frames = framesOf(lines).filter(({ pose }) => {
        if (places.length === 0) return true;
        return isOfSizeOf(places, modulePx(pose, GRID)) && !lookedAt(pose).some(({ x, y }) => isTaken(x, y));
      });
      return frames.slice(0, mostFrames).map(({ pose }) => pose);
    };
    return this.#likeliest(framesAt, most);
  }

  /** By their finder patterns, where frames show nothing; the likeliest places first. */
  byFinders(): Find[] {
    const posesAt: PosesAt = (plane) =>
      plane.width * plane.height > MOST_FINDER_PIXELS ? [] : finderPoses(findersOf(plane));
    return this.#likeliest(posesAt, MOST_BY_FINDERS);
  }

  #likeliest(posesAt: PosesAt, most: Most): Find[] {
    const byScore = (a: Rough, b: Rough): number => b.score - a.score;
    const guesses: Rough[] = [];
    for (const [level, plane] of this.#levels.entries()) {
      for (const pose of posesAt(plane, level)) {
        const soft = this.#blurred.suiting(pose, level);
        this.#turns.scores(soft, pose).forEach((score, turn) => {
          if (score > LEAST_ROUGH) guesses.push({ pose: turnedPose(pose, turn), level, score });
        });
      }
    }
    const rough = distinct(guesses.sort(byScore), most.rough)
      .map(
        (guess): Rough => ({
          level: guess.level,
          ...refined(this.#blurred.suiting(guess.pose, guess.level), this.#coarse, guess.pose, FLAT),
        }),
      )
      .sort(byScore);
    return distinct(rough, most.fine).map(({ pose, level }) => ({
      pose: scaledPose(pose, 2 ** level),
      fit: () => {
        const fitted = squaredUp(this.#blurred.sharpest(level), this.#fine, pose, level);
        return fitted.score > LEAST_FITTED ? fitted : null;
      },
    }));
  }
}

/** Points all over a place: tags do not lie over one another. */
function lookedAt(pose: Pose): Point[] {
  const [xs, ys] = [new Float64Array(LOOK_U.length), new Float64Array(LOOK_U.length)];
  placePoints(pose, { u: LOOK_U, v: LOOK_V }, xs, ys);
  return Array.from(xs, (x, index) => ({ x, y: ys[index] as number }));
}

const LOOKS = [-0.9, -0.45, 0, 0.45, 0.9];
const LOOK_U = Float64Array.from(LOOKS.flatMap((u) => LOOKS.map(() => u)));
const LOOK_V = Float64Array.from(LOOKS.flatMap(() => LOOKS));

function isOfSizeOf(places: readonly Place[], size: number): boolean {
  return places.some(
    (place) => size < MOST_SIZE_RATIO * place.modulePx && place.modulePx < MOST_SIZE_RATIO * size,
  );
}

/** Each level blurred, made when it is asked for. */
class Blurred {
  readonly #levels: Pyramid;
  readonly #made = new Map<string, Plane>();

  constructor(levels: Pyramid) {
    this.#levels = levels;
  }

  sharpest(level: number): Plane {
    return this.#blurred(level, BLURS_PX[0]);
  }

  suiting(pose: Pose, level: number): Plane {
    const wanted = ROUGH_BLUR * modulePx(pose, GRID);
    return this.#blurred(level, BLURS_PX.findLast((sigmaPx) => sigmaPx <= wanted) ?? BLURS_PX[0]);
  }

  #blurred(level: number, sigmaPx: number): Plane {
    const key = `${level} ${sigmaPx}`;
    const plane = this.#made.get(key) ?? smoothed(this.#levels[level] as Plane, sigmaPx);
    this.#made.set(key, plane);
    return plane;
  }
}

/** Fits a rough pose, first flat, then bent; the result is in pixels of the picture itself. */
function squaredUp(plane: Plane, samplers: readonly Sampler[], pose: Pose, level: number): Fitted {
  const scores = samplers.map((sampler) => sampler.fit(plane, pose).score);
  const sampler = samplers[scores.indexOf(Math.max(...scores))] as Sampler;
  const flat = refined(plane, sampler, pose, FLAT);
  let best = flat;
  for (const free of [BENT_ALONG_ROWS, BENT_ALONG_COLUMNS]) {
    const bent = refined(plane, sampler, flat.pose, free);
    if (bent.score > Math.max(best.score, flat.score + LEAST_BENT_GAIN)) best = bent;
  }
  return { pose: scaledPose(best.pose, 2 ** level), score: best.score };
}

/** Without those that lie as a better one does, to within a module. */
function distinct(rough: readonly Rough[], most: number): Rough[] {
  const kept: { readonly one: Rough; readonly pose: Pose }[] = [];
  for (const one of rough) {
    if (kept.length === most) break;
    const pose = scaledPose(one.pose, 2 ** one.level);
    const slack = modulePx(pose, GRID);
    const isNew = kept.every((other) =>
      pose.subarray(0, 8).some((value, index) => Math.abs(value - (other.pose[index] as number)) > slack),
    );
    if (isNew) kept.push({ one, pose });
  }
  return kept.map(({ one }) => one);
}
