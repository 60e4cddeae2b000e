import { describe, expect, it } from 'vitest';
import { capacity, idOfNumber, numberOfId } from '../../src/ids/allocation.js';
import { findSoundId } from '../../src/ids/plant-id.js';

describe('idOfNumber', () => {
  it('at length 5, gives each of the 32,767 sound IDs but 00000 exactly once', () => {
    const given = new Set<string>();
    for (let number = 1; number <= capacity(5); number++) given.add(idOfNumber(number, 5));
    expect(given.size).toBe(32_767);
    expect(given.has('00000')).toBe(false);
    for (const id of given) expect(findSoundId(id, 5)).toBe(id);
  });

  it('at length 6, gives 1,048,575 different IDs', () => {
    const given = new Set<string>();
    for (let number = 1; number <= capacity(6); number++) given.add(idOfNumber(number, 6));
    expect(given.size).toBe(1_048_575);
  });

  it('keeps its order for ever', () => {
    // Pinned on purpose: an ID given twice because the order changed would be a plant mistaken for
    // another. These values may never be edited.
    const order = (length: 5 | 6 | 7) => [1, 2, 3, 4, 5].map((number) => idOfNumber(number, length));
    expect(order(5)).toEqual(['PXSV9', 'DZK67', '21K9S', 'ZYGH0', 'GDS37']);
    expect(order(6)).toEqual(['ZE62P3', '1KPCWM', 'QW3JEM', '5XGRM4', 'W35B1G']);
    expect(order(7)).toEqual(['Y1ENXDM', '5BENT5A', '6WR4134', '7BRW1A3', 'KJZD80V']);
  });

  it('gives neighbours on the bench IDs that look different: two equal data characters are rare', () => {
    let alike = 0;
    let pairs = 0;
    for (let number = 1; number + 12 <= capacity(5); number++) {
      const id = idOfNumber(number, 5);
      for (let step = 1; step <= 12; step++) {
        const neighbour = idOfNumber(number + step, 5);
        if ([0, 1, 2].filter((index) => id[index] === neighbour[index]).length >= 2) alike++;
        pairs++;
      }
    }
    expect(alike / pairs).toBeLessThan(0.01);
  });

  it('an ID tells its number again', () => {
    for (const length of [5, 6, 7] as const) {
      const step = length === 5 ? 1 : 997;
      for (let number = 1; number <= Math.min(capacity(length), step * 40_000); number += step) {
        if (numberOfId(idOfNumber(number, length)) !== number) expect.fail(`${number} at length ${length}`);
      }
      expect(numberOfId(idOfNumber(capacity(length), length))).toBe(capacity(length));
    }
  });

  it('when the number is outside 1 to the capacity, throws', () => {
    for (const number of [0, -1, 1.5, capacity(5) + 1])
      expect(() => idOfNumber(number, 5)).toThrow(RangeError);
  });
});
