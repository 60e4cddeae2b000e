/**
 * Finds the large printed ID of a tag whose symbol is squared up. It stands right of the frame, level with
 * its upper edge, or under it in the middle (`sheets/arrange-qr.ts`); how far off and how large differs from
 * stock to stock, so that a row of so many characters is looked for, whatever they say.
 */
import type { Pose } from './pose.js';
import { COARSE_PER_CAP, distinct, isLegible, isUpright, type RoughRow, RowFit, SLACK } from './row-fit.js';
import { type IdRow, type RowPlace, View } from './row-strips.js';
import type { Pyramid } from './searchable.js';
import { GRID } from './tag-grid.js';

/** Heights of capitals tried, in modules: those of IDs of five to seven characters on the shipped stocks. */
const CAPS = Array.from({ length: 18 }, (_, index) => 3.9 * 1.075 ** index);
/** Gap between frame and ID, in modules. */
const GAP = { least: 1.2, most: 4.6 };
/** An ID of n characters is about this many heights long; with room for its issue and wide ones. */
const usualLength = (characters: number): number => 0.96 * characters + 0.7;
/**
 * Mean score of a character, for its height squared, of a row that says anything: when it is found roughly, and
 * when it is fitted. Of some hundred rows seen from a wrong pose none had more than 0.25 and 0.31; of those that
 * were read rightly under mud none less than 0.3 and 0.6.
 */
const LEAST_SCORE = { rough: 0.25, fitted: 0.45 };

/** @param contrast of paper and ink, in grey levels; @param characters of an ID */
export function findIdRow(levels: Pyramid, pose: Pose, contrast: number, characters: number): IdRow | null {
  const fit = new RowFit(new View(levels, pose), contrast, characters);
  const found = CAPS.flatMap((cap) => roughRows(fit, cap, characters));
  let best: IdRow | null = null;
  for (const rough of distinct(found.filter((row) => isLegible(row, LEAST_SCORE.rough)))) {
    const row = fit.fit(rough, isPlausible);
    if (!isLegible(row, LEAST_SCORE.fitted)) continue;
    if (best === null || row.score > best.score) best = row;
  }
  return best;
}

function roughRows(fit: RowFit, cap: number, characters: number): RoughRow[] {
  const usual = usualLength(characters);
  const beside: RowPlace = [GRID + GAP.least, 0, cap, 0, 0, cap];
  const under = (gap: number): RowPlace => [GRID / 2 - (usual / 2 + 0.6) * cap, GRID + gap, cap, 0, 0, cap];
  const rows = fit.look(beside, (GAP.most - GAP.least) / cap);
  const slack = (SLACK * cap) / COARSE_PER_CAP;
  const step = ((2 * SLACK + 1) * cap) / COARSE_PER_CAP;
  for (let gap = GAP.least + slack; ; gap += step) {
    rows.push(...fit.look(under(gap), 1.2));
    if (gap + slack > GAP.most) break;
  }
  return rows;
}

/** A pose is a little off beyond the symbol that it was fitted on, but not by more than this. */
function isPlausible(place: RowPlace): boolean {
  const [x, y] = place;
  const isBeside = x > GRID;
  const off = isBeside
    ? Math.max(GRID + GAP.least - 1 - x, x - GRID - GAP.most - 1)
    : GRID + GAP.least - 1 - y;
  return off < 0 && (isBeside ? Math.abs(y) < 3 : y < GRID + GAP.most + 1) && isUpright(place);
}
