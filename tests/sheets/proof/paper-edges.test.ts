import { expect, test } from 'vitest';
import { findPaper } from '../../../src/sheets/proof/paper-edges.js';
import { seededRandom } from '../../support/random.js';

interface Corner {
  readonly x: number;
  readonly y: number;
}

/** Paper with known corners (clockwise) on a ground, soft over a pixel, with noise and some print. */
function picture(
  width: number,
  height: number,
  corners: readonly Corner[],
  levels: readonly [number, number],
) {
  const random = seededRandom(4);
  const edges = corners.map((from, index) => {
    const to = corners[(index + 1) % 4] as Corner;
    const length = Math.hypot(to.x - from.x, to.y - from.y);
    return { from, nx: -(to.y - from.y) / length, ny: (to.x - from.x) / length };
  });
  const [paper, ground] = levels;
  const data = Uint8Array.from({ length: width * height }, (_, at) => {
    const [x, y] = [(at % width) + 0.5, Math.floor(at / width) + 0.5];
    const inside = Math.min(...edges.map(({ from, nx, ny }) => (x - from.x) * nx + (y - from.y) * ny));
    const cover = Math.min(1, Math.max(0, inside + 0.5));
    const isPrint = inside > 30 && (x >> 5) % 2 === 0 && (y >> 5) % 2 === 0;
    return Math.max(
      0,
      Math.min(255, ground + (paper - ground) * cover * (isPrint ? 0.1 : 1) + 5 * random.normal()),
    );
  });
  return { data, width, height };
}

/** A tenth of a pixel is 0.01 mm at 300 dpi; a third is asked for. */
const TOLERANCE_PX = 1 / 3;

test.each([
  {
    what: 'straight',
    corners: [
      [60.3, 50.7],
      [940.4, 50.7],
      [940.4, 1250.2],
      [60.3, 1250.2],
    ],
  },
  {
    what: 'askew',
    corners: [
      [80.5, 40.25],
      [960.1, 64.8],
      [930.7, 1270.4],
      [45.2, 1240.9],
    ],
  },
  {
    what: 'in perspective',
    corners: [
      [200.5, 80.2],
      [820.9, 130.4],
      [960.3, 1230.6],
      [40.1, 1100.8],
    ],
  },
  {
    what: 'turned by 45°',
    corners: [
      [500.2, 40.4],
      [960.6, 600.1],
      [520.9, 1260.3],
      [50.5, 700.7],
    ],
  },
])('corners of paper lying $what', ({ corners }) => {
  const expected = corners.map(([x = 0, y = 0]) => ({ x, y }));
  const found = findPaper(picture(1000, 1300, expected, [225, 90]));
  const away = expected.map(({ x, y }) =>
    Math.min(...(found ?? []).map((corner) => Math.hypot(corner.x - x, corner.y - y))),
  );
  expect(Math.max(...away)).toBeLessThan(TOLERANCE_PX);
});

test('no paper in the picture, or not all of it', () => {
  const whole = [
    [-50, -50],
    [1100, -50],
    [1100, 1400],
    [-50, 1400],
  ].map(([x = 0, y = 0]) => ({ x, y }));
  expect(findPaper(picture(1000, 1300, whole, [225, 90]))).toBeNull();
  const cut = [
    [-50, 40],
    [900, 40],
    [900, 1240],
    [-50, 1240],
  ].map(([x = 0, y = 0]) => ({ x, y }));
  expect(findPaper(picture(1000, 1300, cut, [225, 90]))).toBeNull();
  expect(findPaper({ data: new Uint8Array(400 * 300).fill(240), width: 400, height: 300 })).toBeNull();
});
