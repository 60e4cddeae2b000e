/** Finder patterns are found where the camera sees them, and the grid that they belong to. */
import { beforeAll, describe, expect, it } from 'vitest';
import { distance, type Point } from '../../../src/scan/point.js';
import { finderPoses } from '../../../src/scan/reading/finder-poses.js';
import { type Finder, findersOf } from '../../../src/scan/reading/finders.js';
import { turnedPose } from '../../../src/scan/reading/pose.js';
import { searchable } from '../../../src/scan/reading/searchable.js';
import { printTags, type WeatherTag } from '../../bench/weather-tags.js';
import { lone, NO_DAMAGE, type Photo, photograph } from '../../support/camera.js';

let tags: WeatherTag[];

beforeAll(async () => {
  tags = [...(await printTags('a4-65-38x21', 1)), ...(await printTags('hang-a4-9-50x90', 1))];
});

/** Middles of the finder patterns of version 1, in modules from the symbol's top left (ISO/IEC 18004, 5.3.2). */
const MIDDLES = [
  [3.5, 3.5],
  [17.5, 3.5],
  [3.5, 17.5],
] as const;
/** Corners of the frame's outer edge. */
const CORNERS = [
  [-5, -5],
  [26, -5],
  [26, 26],
  [-5, 26],
] as const;

/** Where the camera sees a point of the symbol; pixels are counted from their middles. */
function seenAt({ pixelOf }: Photo, { symbolMm, moduleMm }: WeatherTag, [x, y]: readonly number[]): Point {
  const at = pixelOf(symbolMm.x + (x as number) * moduleMm, symbolMm.y + (y as number) * moduleMm);
  return { x: at.x - 0.5, y: at.y - 0.5 };
}

interface View {
  readonly tag: WeatherTag;
  readonly photo: Photo;
  readonly modulePx: number;
  /** As found, in the order of `MIDDLES`. */
  readonly finders: readonly (Finder | undefined)[];
}

function viewOf(index: number, modulePx: number, tiltDeg: number, rotationDeg: number): View {
  const tag = tags[index % tags.length] as WeatherTag;
  const damage = { ...NO_DAMAGE, pxPerMm: modulePx / tag.moduleMm, tiltDeg, rotationDeg, blurPx: 0.7 };
  const photo = photograph(lone(tag.face, tag.facePxPerMm), damage, index);
  const found = findersOf(searchable(photo).levels[0] as never);
  const finders = MIDDLES.map((middle) =>
    found.find(({ at }) => distance(at, seenAt(photo, tag, middle)) < 0.25 * modulePx),
  );
  return { tag, photo, modulePx, finders };
}

const VIEWS = [
  [2.2, 0, 0],
  [2.6, 20, 63],
  [3.2, 30, 131],
  [4, 10, 200],
  [4, 35, 318],
] as const;

describe.each(VIEWS)(
  'a tag of %d pixels a module, tipped by %d and turned by %d degrees',
  (px, tilt, turn) => {
    let view: View;
    beforeAll(() => {
      view = viewOf(
        VIEWS.findIndex(([, , other]) => other === turn),
        px,
        tilt,
        turn,
      );
    });

    it('shows its three finder patterns to within a quarter module, and a module to within an eighth', () => {
      const { tag, photo, finders } = view;
      MIDDLES.forEach(([x, y], index) => {
        const finder = finders[index];
        expect(finder).toBeDefined();
        if (finder === undefined) return;
        const [a, b] = finder.axes;
        const steps = [a, b, { x: -a.x, y: -a.y }, { x: -b.x, y: -b.y }];
        const middle = seenAt(photo, tag, [x, y]);
        for (const next of [
          [x + 1, y],
          [x, y + 1],
        ]) {
          const seen = seenAt(photo, tag, next);
          const step = { x: seen.x - middle.x, y: seen.y - middle.y };
          const off = Math.min(...steps.map((one) => distance(one, step)));
          expect(off / Math.hypot(step.x, step.y)).toBeLessThan(1 / 8);
        }
      });
    });

    it.each([
      ['three of them', [0, 1, 2], 1],
      ['two along a side', [0, 2], 1.5],
      ['two across', [1, 2], 1.5],
      ['a single one', [1], 3.5],
    ] as const)(
      'lies by %s where it is seen, to within some modules at the farthest corner',
      (_, which, most) => {
        const { tag, photo, modulePx, finders } = view;
        const corners = CORNERS.map((corner) => seenAt(photo, tag, corner));
        const poses = finderPoses(which.flatMap((index) => finders[index] ?? []));
        const off = poses.flatMap((pose) =>
          [0, 1, 2, 3].map((turns) => {
            const turned = turnedPose(pose, turns);
            return Math.max(
              ...corners.map(({ x, y }, corner) =>
                Math.hypot((turned[2 * corner] as number) - x, (turned[2 * corner + 1] as number) - y),
              ),
            );
          }),
        );
        expect(Math.min(...off) / modulePx).toBeLessThan(most);
      },
    );
  },
);

it('a picture of nothing has none', () => {
  const data = new Float32Array(200 * 150).fill(128);
  expect(findersOf({ data, width: 200, height: 150 })).toEqual([]);
});
