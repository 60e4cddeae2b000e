import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  composed,
  fitAffine,
  fitHomography,
  fitSimilarity,
  inverted,
  mapPoint,
  type PlaneMap,
  type Point,
  similarity,
} from '../../../src/sheets/proof/projective.js';

const SEED = { seed: 20261125 };
const number = (least: number, most: number) => fc.double({ min: least, max: most, noNaN: true });
const POINTS: readonly Point[] = [0, 1, 2, 3].flatMap((row) =>
  [0, 1, 2].map((column) => ({ x: 90 * column, y: 95 * row })),
);

/** A page seen from some angle: scale, turn, shear, perspective of a photo. */
const view: fc.Arbitrary<PlaneMap> = fc
  .tuple(
    number(2, 20),
    number(-3.2, 3.2),
    number(-0.1, 0.1),
    number(-4e-4, 4e-4),
    number(-4e-4, 4e-4),
    number(-999, 999),
  )
  .map(([scale, angle, shear, g, h, move]) =>
    composed(similarity(scale, angle, move, -move), [1, shear, 0, 0, 1, 0, g, h, 1]),
  );

const near = (a: Point, b: Point) => expect(Math.hypot(a.x - b.x, a.y - b.y)).toBeLessThan(1e-5);

test('a map and its inverse lead back, and a homography is found from what it did', () => {
  fc.assert(
    fc.property(view, (map) => {
      const pairs = POINTS.map((from) => ({ from, to: mapPoint(map, from) }));
      const found = fitHomography(pairs);
      for (const { from, to } of pairs) {
        near(mapPoint(inverted(map), to), from);
        near(mapPoint(found as PlaneMap, from), to);
      }
    }),
    SEED,
  );
});

test('affine maps and similarities are found', () => {
  fc.assert(
    fc.property(
      number(0.5, 2),
      number(-3, 3),
      number(-50, 50),
      number(-0.2, 0.2),
      (scale, angle, move, shear) => {
        const plain = similarity(scale, angle, move, 2 * move);
        const sheared = composed(plain, [1, shear, 0, 0, 1, 0, 0, 0, 1]);
        for (const from of POINTS) {
          const pairs = (map: PlaneMap) => POINTS.map((point) => ({ from: point, to: mapPoint(map, point) }));
          near(mapPoint(fitSimilarity(pairs(plain)) as PlaneMap, from), mapPoint(plain, from));
          near(mapPoint(fitAffine(pairs(sheared)) as PlaneMap, from), mapPoint(sheared, from));
        }
      },
    ),
    SEED,
  );
});

test('a quarter turn clockwise, by hand', () => {
  near(mapPoint(similarity(2, Math.PI / 2, 10, 0), { x: 3, y: 1 }), { x: 8, y: 6 });
});

test('points that do not determine a map give none', () => {
  const line = [0, 1, 2, 3, 4].map((x) => ({ from: { x, y: 2 * x }, to: { x, y: 2 * x } }));
  expect(fitAffine(line)).toBeNull();
  expect(fitHomography(line)).toBeNull();
  expect(fitSimilarity([{ from: { x: 1, y: 1 }, to: { x: 2, y: 2 } }])).toBeNull();
});
