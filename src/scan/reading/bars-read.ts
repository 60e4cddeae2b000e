/**
 * Reads damaged Code 128 tags by the ledger: every tag ever issued is held against what is left of bars, from
 * a few clean rows or parts of rows.
 */
import { align, realign, resampled } from './bars-align.js';
import { type BarGroup, packBarCodes } from './bars-codes.js';
import { type BarEvidence, barEvidence } from './bars-evidence.js';
import { findStrips, type Strip } from './bars-find.js';
import { expectedModules, judgeBars, type Look, lookOf, valueTable } from './bars-judge.js';
import { type ColourPlanes, halvedPlanes, type Plane } from './plane.js';
import { type Pose, placePoints, scaledPose } from './pose.js';
import type { Suspect } from './posterior.js';
import { isRead, LEAST_NAMED, onlyOffered, probabilityOf, surestOf } from './read.js';
import type { Searchable } from './searchable.js';
import type { TagCodes } from './tag-codes.js';

export interface BarReading {
  /** Tag texts, likeliest first, with the probability that it is this tag of all there could be. */
  readonly suspects: readonly Suspect[];
  /** The strip in which the bars lie, in pixels of the picture. */
  readonly strip: Strip;
  /** How they lie in it, in its own pixels. */
  readonly pose: Pose;
  readonly evidence: BarEvidence;
}

/** One way to lay the modules over a strip, and what is read so. */
type Way = Omit<BarReading, 'strip'>;

/** Levels of the picture in which bars are looked for, each half as large as the one before. */
const LEVELS = 3;
const LEAST_LEVEL_PX = 40;
/** Least agreement of an alignment worth a closer look. */
const LEAST_AGREEMENT = 12;
const LOOKED_AT = 6;

const packed = new WeakMap<TagCodes, BarGroup[]>();

/** The bars of a ledger's tags, made once for all photos. */
function barsOf(codes: TagCodes): readonly BarGroup[] {
  const groups = packed.get(codes) ?? packBarCodes(codes.texts, codes.strangers);
  packed.set(codes, groups);
  return groups;
}

/**
 * Tags that damaged bars name surely enough to ask whether it is this one. They are never taken: how far what
 * bars alone say can be believed is measured on too few pictures yet.
 */
export const offeredByBars = (picture: Searchable, codes: TagCodes): BarReading[] =>
  onlyOffered(readBarsByLedger(picture, barsOf(codes)));

/**
 * What stands at each place where bars may be, surest first; no tag twice.
 * @param judge says what bars of a group's length show
 */
export function readBarsByLedger(
  { planes: largest, halvings }: Searchable,
  groups: readonly BarGroup[],
  judge = judgeBars,
): BarReading[] {
  const readings: BarReading[] = [];
  let planes = largest;
  for (let level = 0; level < LEVELS; level++) {
    for (const strip of findStrips(planes.gray)) {
      const way = readStrip(planes, strip, groups, judge);
      if (way === null || probabilityOf(way) < LEAST_NAMED) continue;
      readings.push({ ...way, strip: { ...strip, pose: scaledPose(strip.pose, 2 ** (level + halvings)) } });
    }
    if (readings.some(isRead) || Math.min(planes.gray.width, planes.gray.height) < 2 * LEAST_LEVEL_PX) break;
    planes = halvedPlanes(planes);
  }
  const surest = new Map<string, BarReading>();
  for (const reading of readings) {
    const { text, probability } = reading.suspects[0] as Suspect;
    if (probability > probabilityOf(surest.get(text))) surest.set(text, reading);
  }
  return [...surest.values()].sort((a, b) => probabilityOf(b) - probabilityOf(a));
}

/** The surest of all ways to align each group. */
function readStrip(
  planes: ColourPlanes,
  strip: Strip,
  groups: readonly BarGroup[],
  judge: typeof judgeBars,
): Way | null {
  const own = cutOut(planes, strip);
  const ways: Way[] = [];
  for (const group of groups) {
    for (const { pose, score } of align(own.gray, group.darkShare).slice(0, LOOKED_AT)) {
      if (score > LEAST_AGREEMENT) ways.push(judgeAligned(own, pose, group, judge));
    }
    if (ways.some(isRead)) break;
  }
  const [first, ...others] = ways;
  return first === undefined ? null : surestOf([first, ...others]);
}

function judgeAligned(strip: ColourPlanes, start: Pose, group: BarGroup, judge: typeof judgeBars): Way {
  const { evidence, look } = lookedAt(strip, start, group);
  const { table } = valueTable(evidence, look, group);
  // Squared up anew by what the bars seem to be, whatever text they make.
  const expected = expectedModules(table, group);
  const { pose } = realign(strip.gray, expected, start, look.blurModules);
  const again = lookedAt(strip, pose, group);
  const finer = expectedModules(valueTable(again.evidence, again.look, group).table, group);
  const suspects = judge(group, again.evidence, lookOf(again.evidence, finer));
  return { suspects, pose, evidence: again.evidence };
}

function lookedAt(
  strip: ColourPlanes,
  pose: Pose,
  { modules, darkShare }: BarGroup,
): { evidence: BarEvidence; look: Look } {
  const evidence = barEvidence(strip, pose, modules, strip.gray.height);
  return { evidence, look: lookOf(evidence, darkShare) };
}

function cutOut({ gray, warm, green }: ColourPlanes, { pose, width, height }: Strip): ColourPlanes {
  const [u, v] = [new Float64Array(width * height), new Float64Array(width * height)];
  for (let at = 0; at < u.length; at++) {
    u[at] = (2 * ((at % width) + 0.5)) / width - 1;
    v[at] = (2 * (Math.floor(at / width) + 0.5)) / height - 1;
  }
  const [xs, ys] = [new Float64Array(u.length), new Float64Array(u.length)];
  placePoints(pose, { u, v }, xs, ys);
  const cut = (plane: Plane): Plane => resampled(plane, xs, ys, width);
  return {
    gray: cut(gray),
    warm: warm === null ? null : cut(warm),
    green: green === null ? null : cut(green),
  };
}
