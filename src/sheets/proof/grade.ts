/**
 * Grades of print quality, with the thresholds of ISO/IEC 15416 (Code 128) and 15415 (QR), out of an
 * ordinary picture. Which parts are from memory, and not read in a source, each grader says.
 *
 * This compares sheets, printers and settings; it does not certify. The standards want a calibrated
 * reflectance, a stated aperture and light; here the scanner or camera gives both, and reflectance is
 * taken relative to the paper beside the symbol. `COMPUTED` and `NOT_COMPUTED` say the rest.
 */

import type { GrayPicture } from '../../scan/picture.js';
import type { Point } from './projective.js';
import { lightAt } from './sampling.js';

/** 4 is best, 0 has failed. */
export type Grade = 0 | 1 | 2 | 3 | 4;

export const COMPUTED = {
  qr: [
    'contrast',
    'modulation',
    'unused correction',
    'axial non-uniformity',
    'grid non-uniformity',
    'fixed patterns',
  ],
  code128: [
    'decode',
    'contrast',
    'minimum reflectance',
    'edge contrast',
    'modulation',
    'defects',
    'decodability',
  ],
} as const;

export const NOT_COMPUTED = [
  'absolute reflectance: it is taken relative to the paper beside the symbol, the light is not calibrated',
  "aperture and light: they are the scanner's or camera's; values are averaged over 0.8 of a module",
  'five scans at five angles (ISO/IEC 15415): there is one picture',
  'print growth, contrast uniformity and the grades of format and version information (ISO/IEC 15415)',
  'modulation and unused error correction of QR codes that hold a link and are not at level H of versions 1 to 4',
] as const;

/** The grade of a value that is better the larger, by the least of grades 4, 3, 2 and 1. */
export function gradeFrom(value: number, least: readonly [number, number, number, number]): Grade {
  const index = least.findIndex((limit) => value >= limit);
  return index < 0 ? 0 : ((4 - index) as Grade);
}

/** The grade of a value that is better the smaller, by the most of grades 4, 3, 2 and 1. */
export function gradeUpTo(value: number, most: readonly [number, number, number, number]): Grade {
  const index = most.findIndex((limit) => value <= limit);
  return index < 0 ? 0 : ((4 - index) as Grade);
}

/** Symbol contrast, as a share of the paper's reflectance; alike in both standards. */
export const CONTRAST = [0.7, 0.55, 0.4, 0.2] as const;

/** `A` for 3.5 to 4.0, `B` from 2.5, `C` from 1.5, `D` from 0.5 (ISO/IEC 15416; from memory). */
export function letterOf(grade: number): 'A' | 'B' | 'C' | 'D' | 'F' {
  if (grade >= 3.5) return 'A';
  if (grade >= 2.5) return 'B';
  if (grade >= 1.5) return 'C';
  return grade >= 0.5 ? 'D' : 'F';
}

export interface GradedPart {
  readonly name: string;
  /** As the standard counts it; null where it could not be computed. */
  readonly value: number | null;
  readonly grade: number | null;
}

export interface SymbolGrade {
  /** 0.0 to 4.0: the lowest part (QR), the mean of ten profiles (Code 128). */
  readonly grade: number;
  readonly letter: 'A' | 'B' | 'C' | 'D' | 'F';
  readonly parts: readonly GradedPart[];
  readonly pxPerModule: number;
}

/** Fewer pixels a module tell more of the picture than of the print (a vision library's manual). */
export const LEAST_PX_PER_MODULE = 3;

/** Places, in modules from the middle, whose mean stands for a circle 0.8 of a module across. */
const APERTURE: readonly (readonly [number, number])[] = [[0, 0], ...ring(0.2, 4), ...ring(0.35, 8)];

/** Reflected light through the aperture. @param seen the pixel of a place, in modules from its middle */
export function apertureLight(picture: GrayPicture, seen: (dx: number, dy: number) => Point): number {
  let sum = 0;
  for (const [dx, dy] of APERTURE) {
    const { x, y } = seen(dx, dy);
    sum += lightAt(picture, x, y);
  }
  return sum / APERTURE.length;
}

/** Light relative to the paper, which is taken to be lighter than all but a twentieth of the places. */
export function relativeToPaper(light: Float64Array): Float64Array {
  const paper = light.toSorted()[Math.floor(0.95 * light.length)] || 1;
  return light.map((value) => value / paper);
}

function ring(radius: number, count: number): [number, number][] {
  return Array.from({ length: count }, (_, index) => {
    const angle = (2 * Math.PI * (index + 0.5)) / count;
    return [radius * Math.cos(angle), radius * Math.sin(angle)];
  });
}
