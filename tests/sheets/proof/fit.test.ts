import fc from 'fast-check';
import { expect, test } from 'vitest';
import { correctionFor, fitPrinter, sheetError } from '../../../src/sheets/proof/fit.js';
import type { Point } from '../../../src/sheets/proof/projective.js';

const mm = (most: number) => fc.double({ min: -most, max: most, noNaN: true });
const printer = fc.record({
  scale: fc.double({ min: 0.95, max: 1.05, noNaN: true }),
  offsetMm: fc.record({ x: mm(3), y: mm(3) }),
});
const calibration = fc.record({
  scale: fc.double({ min: 0.97, max: 1.03, noNaN: true }),
  nudgeMm: fc.record({ x: mm(2), y: mm(2) }),
});

const PLAIN = { scale: 1, nudgeMm: { x: 0, y: 0 } };

/** Where labels lie on A4. */
const LABELS: readonly Point[] = [0, 1, 2, 3, 4].flatMap((row) =>
  [0, 1, 2].map((column) => ({ x: 10 + 66 * column, y: 15 + 55 * row })),
);

test('whatever a sheet was printed with, the correction brings every label home', () => {
  fc.assert(
    fc.property(printer, calibration, (does, printedWith) => {
      const onPaper = (page: Point) => ({
        x: does.scale * page.x + does.offsetMm.x,
        y: does.scale * page.y + does.offsetMm.y,
      });
      const drawn = (label: Point, { scale, nudgeMm }: typeof printedWith) => ({
        x: label.x * scale + nudgeMm.x,
        y: label.y * scale + nudgeMm.y,
      });
      const pairs = LABELS.map((label) => {
        const from = drawn(label, printedWith);
        return { from, to: onPaper(from) };
      });
      const found = fitPrinter(pairs, printedWith);
      if (found === null) throw new Error('nothing fitted');
      const correction = correctionFor(found);
      if (correction === null) throw new Error('no correction');
      for (const label of LABELS) {
        const home = onPaper(drawn(label, correction));
        // Options are rounded: 0.00005 of 297 mm and 0.005 mm.
        expect(Math.hypot(home.x - label.x, home.y - label.y)).toBeLessThan(0.03);
        const off = onPaper(drawn(label, printedWith));
        const error = sheetError(found, printedWith);
        expect(off.x).toBeCloseTo((error.scale ?? 0) * label.x + error.offsetMm.x, 6);
        expect(off.y).toBeCloseTo((error.scale ?? 0) * label.y + error.offsetMm.y, 6);
      }
    }),
    { seed: 20261125 },
  );
});

test('a third of the labels slipped do not move the measure', () => {
  const pairs = LABELS.map((from, index) => {
    const slip = index % 3 === 0 ? 4 : 0;
    return { from, to: { x: 0.98 * from.x + 1 + slip, y: 0.98 * from.y - 2 - slip } };
  });
  const found = fitPrinter(pairs, PLAIN);
  expect(found?.scale).toBeCloseTo(0.98, 6);
  expect(found?.offsetMm.x).toBeCloseTo(1, 6);
  expect(found?.offsetMm.y).toBeCloseTo(-2, 6);
  expect(found?.symbolCount).toBe(10);
});

test('one label has no scale: its printer is the one that the scale it was printed with makes true', () => {
  // A printer of 97 % that moves by 1.5 mm and -1 mm, and the calibration that makes it true, by hand.
  const calibrated = { scale: 1 / 0.97, nudgeMm: { x: -1.5 / 0.97, y: 1 / 0.97 } };
  const label = { x: 52, y: 36 };
  const from = { x: (label.x - 1.5) / 0.97, y: (label.y + 1) / 0.97 };
  const found = fitPrinter([{ from, to: label }], calibrated);
  if (found === null) throw new Error('nothing fitted');
  expect(found).toMatchObject({ scale: null, rotationDeg: null });
  const { scale, offsetMm } = sheetError(found, calibrated);
  expect(scale).toBeNull();
  expect(Math.hypot(offsetMm.x, offsetMm.y)).toBeLessThan(1e-9);
  const corner = found.place({ x: from.x - 10, y: from.y - 10 });
  expect(corner.x).toBeCloseTo(label.x - 9.7, 9);
  expect(corner.y).toBeCloseTo(label.y - 9.7, 9);
  expect(correctionFor(found)).toBeNull();
});

test('beyond what tags takes there is no correction', () => {
  expect(correctionFor({ scale: 1, offsetMm: { x: 21.2, y: 0 } })).toBeNull();
  expect(correctionFor({ scale: 0.9, offsetMm: { x: 0, y: 0 } })).toBeNull();
});
