/**
 * The print quality of a QR code in a picture, after ISO/IEC 15415: contrast, modulation, unused error
 * correction, axial and grid non-uniformity, damage to the fixed patterns and the quiet zone. The
 * lowest part is the symbol's grade. Thresholds: a verifier's manual; those of the two
 * non-uniformities, the procedure by codeword and the fixed patterns' table are from memory.
 */
import { type QrLevel, qrModules } from '../../codes/qr.js';
import { QR_QUIET_MODULES } from '../../codes/qr-block.js';
import type { GrayPicture } from '../../scan/picture.js';
import {
  apertureLight,
  CONTRAST,
  type Grade,
  type GradedPart,
  gradeFrom,
  gradeUpTo,
  letterOf,
  relativeToPaper,
  type SymbolGrade,
} from './grade.js';
import type { Point } from './projective.js';
import { fixedPattern, type QrLayout, qrLayout } from './qr-layout.js';

const MODULATION = [0.5, 0.4, 0.3, 0.2] as const;
const UNUSED_CORRECTION = [0.62, 0.5, 0.37, 0.25] as const;
const AXIAL = [0.06, 0.08, 0.1, 0.12] as const;
const GRID = [0.38, 0.5, 0.63, 0.75] as const;
/** Wrong modules in a finder pattern with its separator and its part of the quiet zone. */
const FIXED = [0, 1, 2, 3] as const;

interface QrGeometry {
  /** The pixel at which a point is seen, in modules from the symbol's own top left. */
  readonly seen: (column: number, row: number) => Point;
  readonly pxPerModule: number;
  /** |X - Y| / mean of the modules' width and height, on the paper. */
  readonly axial: number;
  /** The farthest that any part of the symbol lies from the even grid, in modules. */
  readonly grid: number;
}

export function gradeQr(
  picture: GrayPicture,
  text: string,
  level: QrLevel,
  geometry: QrGeometry,
): SymbolGrade {
  const modules = qrModules(text, level);
  const { size } = modules;
  const reach = QR_QUIET_MODULES;
  const side = size + 2 * reach;
  const seen = new Float64Array(side * side);
  for (let row = -reach, at = 0; row < size + reach; row++) {
    for (let column = -reach; column < size + reach; column++, at++) {
      seen[at] = apertureLight(picture, (dx, dy) => geometry.seen(column + 0.5 + dx, row + 0.5 + dy));
    }
  }
  const light = relativeToPaper(seen);
  const [darkest, lightest] = [Math.min(...light), Math.max(...light)];
  const contrast = lightest - darkest;
  const middle = (lightest + darkest) / 2;
  /** Positive where a module is on its right side, 1 where it is as dark or light as any. */
  const modulation = (row: number, column: number): number => {
    const value = light[(row + reach) * side + column + reach] ?? 0;
    const towardLight = (2 * (value - middle)) / contrast;
    return modules.dark(row, column) ? -towardLight : towardLight;
  };
  const layout = level === 'H' ? qrLayout(size) : null;
  const fixed = wrongFixed(size, reach, modulation);
  const parts: GradedPart[] = [
    { name: 'contrast', value: contrast, grade: gradeFrom(contrast, CONTRAST) },
    layout === null
      ? { name: 'modulation', value: null, grade: null }
      : modulationPart(layout, size, modulation),
    layout === null
      ? { name: 'unused correction', value: null, grade: null }
      : unusedPart(layout, size, modulation),
    { name: 'axial non-uniformity', value: geometry.axial, grade: gradeUpTo(geometry.axial, AXIAL) },
    { name: 'grid non-uniformity', value: geometry.grid, grade: gradeUpTo(geometry.grid, GRID) },
    { name: 'fixed patterns', value: fixed, grade: gradeUpTo(fixed, FIXED) },
  ];
  const grade = Math.min(...parts.flatMap((part) => part.grade ?? []));
  return { grade, letter: letterOf(grade), parts, pxPerModule: geometry.pxPerModule };
}

type Modulation = (row: number, column: number) => number;

/** Of each codeword, how well its worst module stands out. */
function codewordModulation({ codewords }: QrLayout, size: number, modulation: Modulation): number[] {
  return codewords.map((list) =>
    Math.min(...list.map((module) => modulation(Math.floor(module / size), module % size))),
  );
}

/** The share of the error correction that is left in the block that needs most of it. */
function unusedShare({ blocks, repairs }: QrLayout, isWrong: readonly boolean[]): number {
  const used = Array.from({ length: blocks }, () => 0);
  isWrong.forEach((wrong, index) => {
    if (wrong) used[index % blocks] = (used[index % blocks] ?? 0) + 1;
  });
  return Math.max(0, 1 - Math.max(...used) / repairs);
}

function unusedPart(layout: QrLayout, size: number, modulation: Modulation): GradedPart {
  const isWrong = codewordModulation(layout, size, modulation).map((value) => value <= 0);
  const unused = unusedShare(layout, isWrong);
  return { name: 'unused correction', value: unused, grade: gradeFrom(unused, UNUSED_CORRECTION) };
}

/**
 * Weak codewords cost no more than the error correction that would repair them: for each grade, those
 * below it are taken as wrong; the grade is the best of the lower of it and what is then left.
 */
function modulationPart(layout: QrLayout, size: number, modulation: Modulation): GradedPart {
  const values = codewordModulation(layout, size, modulation);
  const grades = values.map((value) => gradeFrom(value, MODULATION));
  const overlaid = ([4, 3, 2, 1, 0] as const).map((level): Grade => {
    const left = unusedShare(
      layout,
      grades.map((grade) => grade < level),
    );
    return Math.min(level, gradeFrom(left, UNUSED_CORRECTION)) as Grade;
  });
  return { name: 'modulation', value: Math.min(...values), grade: Math.max(...overlaid) };
}

/** Wrong modules in the worst of the fixed patterns. */
function wrongFixed(size: number, reach: number, modulation: Modulation): number {
  const wrong = new Map<string, number>();
  for (let row = -reach; row < size + reach; row++) {
    for (let column = -reach; column < size + reach; column++) {
      const pattern = fixedPattern(row, column, size);
      if (pattern !== null && modulation(row, column) <= 0) wrong.set(pattern, (wrong.get(pattern) ?? 0) + 1);
    }
  }
  return Math.max(0, ...wrong.values());
}
