/** The bound of reading by the ledger, against tags that are looked at through holes drawn at random. */
import { expect, it } from 'vitest';
import { tagQrWords } from '../../../src/codes/tag-qr.js';
import { idOfNumber } from '../../../src/ids/allocation.js';
import { distancesIn, modulesNeeded } from '../../bench/weather-limit.js';
import { seededRandom } from '../../support/random.js';

const PLANTS = 600;
const MODULES = 441;

const distances = distancesIn(PLANTS, 5, PLANTS);

/** Of all tags, how many look like another one where `seen` modules are seen, over many such views. */
function shareAlike(seen: number, views: number): number {
  const random = seededRandom(20261125);
  const tags = Array.from({ length: PLANTS }, (_, index) => tagQrWords(`${idOfNumber(index + 1, 5)}.1`));
  let alike = 0;
  for (let view = 0; view < views; view++) {
    const order = Array.from({ length: MODULES }, (_, module) => ({ module, at: random.next() }))
      .sort((a, b) => a.at - b.at)
      .slice(0, seen)
      .map(({ module }) => module);
    const counts = new Map<string, number>();
    for (const words of tags) {
      const look = order.map((module) => ((words[module >> 5] as number) >>> (module & 31)) & 1).join('');
      counts.set(look, (counts.get(look) ?? 0) + 1);
    }
    for (const count of counts.values()) alike += count > 1 ? count : 0;
  }
  return alike / (PLANTS * views);
}

it('counts every other tag once, at the distance of its symbol', () => {
  expect(distances.reduce((sum, count) => sum + count, 0)).toBeCloseTo(PLANTS - 1, 6);
  expect(distances[0]).toBe(0);
});

it('as many modules as it says are needed leave hardly a tag alike another, a third fewer leave many', () => {
  const needed = modulesNeeded(distances, 0);
  // A tie is half an error: 0.0001 wrong is 0.0002 alike, of 24,000 looked at here five.
  expect(shareAlike(needed, 40)).toBeLessThan(0.001);
  expect(shareAlike(Math.round((2 * needed) / 3), 10)).toBeGreaterThan(0.002);
});

it('two tags that differ in one module need nearly all of them, and wrong ones make it more', () => {
  // Seen in k of 441 modules, the one is missed with probability (441 - k) / 441; half of that is wrong.
  expect(modulesNeeded(Float64Array.of(0, 1), 0)).toBe(441);
  expect(modulesNeeded(distances, 0.05)).toBeGreaterThan(modulesNeeded(distances, 0));
});
