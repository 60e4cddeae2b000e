/** What is summed several at a time, against the plain definition of the same. */
import { expect, it } from 'vitest';
import { probeOf, Sampler } from '../../../src/scan/reading/agreement.js';
import { FourTurns } from '../../../src/scan/reading/four-turns.js';
import { strangersTo } from '../../../src/scan/reading/ledger-codes.js';
import { type Plane, smoothed } from '../../../src/scan/reading/plane.js';
import { flatPose, turnedPose } from '../../../src/scan/reading/pose.js';
import { packTagCodes } from '../../../src/scan/reading/tag-codes.js';
import { seededRandom } from '../../support/random.js';

const random = seededRandom(20261128);
const noise = (width: number, height: number): Plane => ({
  data: Float32Array.from({ length: width * height }, () => random.between(0, 255)),
  width,
  height,
});

it('four turns from one look score as four looks do', () => {
  const texts = ['K7FY5.1', '0EZBT.1', 'R5FP4.2'];
  const { known } = packTagCodes(texts, strangersTo(new Set(texts), 5));
  const plane = smoothed(noise(140, 150), 2);
  const pose = flatPose([
    { x: 12, y: 20 },
    { x: 118, y: 14 },
    { x: 126, y: 133 },
    { x: 8, y: 120 },
  ]);
  const sampler = new Sampler(probeOf(known, 1, 0.4));
  const scores = new FourTurns(known, sampler.probe).scores(plane, pose);
  expect(scores).toHaveLength(4);
  scores.forEach((score, turn) => {
    expect(score).toBeCloseTo(sampler.fit(plane, turnedPose(pose, turn)).score, 6);
  });
  expect(new Set(scores.map((score) => score.toFixed(3))).size).toBe(4);
});

it('a blur is the mean of all pixels about, weighted by a bell curve, the edge going on', () => {
  const plane = noise(17, 9);
  const sigma = 1.3;
  const reach = Math.ceil(3 * sigma);
  const blurred = smoothed(plane, sigma);
  const at = (x: number, y: number): number =>
    plane.data[Math.min(8, Math.max(0, y)) * 17 + Math.min(16, Math.max(0, x))] as number;
  for (let y = 0; y < 9; y++) {
    for (let x = 0; x < 17; x++) {
      let [sum, total] = [0, 0];
      for (let dy = -reach; dy <= reach; dy++) {
        for (let dx = -reach; dx <= reach; dx++) {
          const weight = Math.exp(-(dx * dx + dy * dy) / (2 * sigma * sigma));
          sum += weight * at(x + dx, y + dy);
          total += weight;
        }
      }
      expect(blurred.data[y * 17 + x]).toBeCloseTo(sum / total, 3);
    }
  }
});
