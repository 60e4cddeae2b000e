import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { placeLabels } from '../../src/report/labels.js';

fc.configureGlobal({ seed: 20261125 });

describe('names of points', () => {
  const point = fc.record({ x: fc.integer({ min: 0, max: 200 }), y: fc.integer({ min: 0, max: 200 }) });

  it('cover neither one another nor another point that has a name', () => {
    let placedAll = 0;
    fc.assert(
      fc.property(fc.array(point, { maxLength: 25 }), (points) => {
        const labelled = points.map(({ x, y }, spot) => ({ spot, x, y, width: 40 }));
        const placed = placeLabels(labelled, []);
        placedAll += placed.length;
        const middles = placed.map(({ spot, dx, dy }) => ({
          spot,
          x: (points[spot]?.x ?? 0) + dx,
          y: (points[spot]?.y ?? 0) + dy,
        }));
        for (const a of middles) {
          for (const b of middles) {
            if (a !== b) expect(Math.abs(a.x - b.x) >= 40 || Math.abs(a.y - b.y) >= 13).toBe(true);
          }
          points.forEach(({ x, y }, spot) => {
            if (spot !== a.spot) expect(Math.abs(a.x - x) >= 20 || Math.abs(a.y - y) >= 6).toBe(true);
          });
        }
      }),
    );
    expect(placedAll).toBeGreaterThan(200);
  });

  it('stand above, and below where something is above', () => {
    const [alone] = placeLabels([{ spot: 'a', x: 0, y: 0, width: 40 }], []);
    expect(alone).toMatchObject({ dx: 0, dy: -11 });
    const [under] = placeLabels([{ spot: 'a', x: 0, y: 0, width: 40 }], [{ x: 5, y: -12 }]);
    expect(under?.dy).toBeGreaterThan(0);
  });
});
