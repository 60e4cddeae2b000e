/** Design section 8a and the issue behind it: how long it takes to hold every tag of a ledger against one picture. */

import { idOfNumber } from '../../src/ids/allocation.js';
import type { IdLength } from '../../src/ids/plant-id.js';
import { evidenceOf } from '../../src/scan/reading/evidence.js';
import { strangersTo } from '../../src/scan/reading/ledger-codes.js';
import { colourPlanes } from '../../src/scan/reading/plane.js';
import { flatPose } from '../../src/scan/reading/pose.js';
import { judge } from '../../src/scan/reading/posterior.js';
import { packTagCodes } from '../../src/scan/reading/tag-codes.js';
import { inGray } from '../support/gray.js';
import type { BenchRow } from './measure.js';
import { printTags } from './weather-tags.js';

const ROUNDS = 7;
/** Agreement of a clean tag: plenty. */
const AGREEMENT = 1500;

export async function benchReading(): Promise<BenchRow[]> {
  return [await judged(32_767, 5, 50), await judged(1_000_000, 6, 1000)];
}

async function judged(tagCount: number, idLength: IdLength, barMs: number): Promise<BenchRow> {
  const texts = Array.from({ length: tagCount }, (_, index) => `${idOfNumber(index + 1, idLength)}.1`);
  const codes = packTagCodes(texts, strangersTo(new Set(texts), idLength));
  const [tag] = await printTags('a4-21-64x38', 1);
  if (tag === undefined) throw new Error('a tag');
  const planes = colourPlanes(inGray(tag.face));
  const px = (mm: number): number => mm * tag.facePxPerMm - 0.5;
  const { x, y, width } = tag.symbolMm;
  const [left, right] = [x - 5 * tag.moduleMm, x + width + 5 * tag.moduleMm].map(px) as [number, number];
  const [top, bottom] = [y - 5 * tag.moduleMm, y + width + 5 * tag.moduleMm].map(px) as [number, number];
  const pose = flatPose([
    { x: left, y: top },
    { x: right, y: top },
    { x: right, y: bottom },
    { x: left, y: bottom },
  ]);
  const evidence = evidenceOf(planes, pose, codes.known);
  const times = Array.from({ length: ROUNDS }, () => {
    const before = process.cpuUsage();
    judge(codes, evidence, AGREEMENT, null);
    return process.cpuUsage(before).user / 1000;
  }).sort((a, b) => a - b);
  const median = times[ROUNDS >> 1] as number;
  return {
    what: `hold ${tagCount.toLocaleString('en')} tags against one squared-up picture`,
    measured: `${median.toFixed(0)} ms of one core`,
    bar: `≤ ${barMs} ms`,
    holds: median <= barMs,
  };
}
