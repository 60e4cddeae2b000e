import { describe, expect, it } from 'vitest';
import { DOUBTS } from '../../../src/walk/doubts/parameters.js';
import { Partners } from '../../../src/walk/doubts/partners.js';
import { plantAt } from '../spots.js';

const station = (index: number) =>
  `bench ${Math.floor(index / 50) + 1} / row ${(Math.floor(index / 10) % 5) + 1} / ${(index % 10) + 1}`;
const GARDENS = {
  'on benches': Array.from({ length: 1000 }, (_, index) => plantAt(index + 1, station(index))),
  'with one name for all stations': Array.from({ length: 300 }, (_, index) => plantAt(index + 1, 'bench 1')),
  'without stations': Array.from({ length: 300 }, (_, index) => plantAt(index + 1, '', { station: null })),
  'of two': [plantAt(1, 'a / 1'), plantAt(2, 'a / 2')],
};

describe.each(Object.entries(GARDENS))('a garden %s', (_, plants) => {
  const partners = new Partners(plants);

  it('shares of exchanges are alike both ways, and of one plant add up to one at most', () => {
    for (const plant of [plants[0], plants[Math.floor(plants.length / 2)], plants.at(-1)]) {
      if (plant === undefined) throw new Error('a plant');
      let sum = 0;
      for (const other of plants) {
        if (other === plant) continue;
        expect(partners.share(plant, other)).toBe(partners.share(other, plant));
        sum += partners.share(plant, other);
      }
      expect(sum).toBeGreaterThan(0.2);
      expect(sum).toBeLessThanOrEqual(1 + 1e-9);
    }
  });

  it('near are just those whose share is worth it', () => {
    const [plant] = plants;
    if (plant === undefined) throw new Error('a plant');
    const near = plants.filter((other) => other !== plant && partners.share(plant, other) >= DOUBTS.near);
    expect(partners.near(plant).sort((a, b) => a.number - b.number)).toEqual(near);
  });
});

it('neighbours are likelier than strangers', () => {
  const plants = GARDENS['on benches'];
  const partners = new Partners(plants);
  const share = (a: number, b: number) =>
    partners.share(plants[a] as (typeof plants)[0], plants[b] as (typeof plants)[0]);
  expect(share(104, 105)).toBeGreaterThan(share(104, 106));
  expect(share(104, 106)).toBeGreaterThan(share(104, 115));
  expect(share(104, 115)).toBeGreaterThan(share(104, 900));
});

it('all pairs of plants are considered', () => {
  expect(new Partners(GARDENS['on benches']).pairCount).toBe(499_500);
});
