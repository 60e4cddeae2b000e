/**
 * The print quality of a Code 128 in a picture, after ISO/IEC 15416: ten profiles across the bars, each
 * graded by its lowest part (decode, contrast, minimum reflectance, edge contrast, modulation, defects,
 * decodability, quiet zone); the symbol's grade is their mean. Thresholds: a verifier maker's page.
 * Decodability is that of ISO/IEC 15417's reference decoding, its formulas from memory.
 */
import { CODE128_QUIET_MODULES, code128Bars } from '../../codes/code128.js';
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

const MODULATION = [0.7, 0.6, 0.5, 0.4] as const;
const DECODABILITY = [0.62, 0.5, 0.37, 0.25] as const;
const DEFECTS = [0.15, 0.2, 0.25, 0.3] as const;
const LEAST_EDGE_CONTRAST = 0.15;

const PROFILES = 10;
/** Profiles lie within this share of the bars' height, clear of their ends. */
const MIDDLE_SHARE = 0.8;
const STEPS_A_MODULE = 10;
/** Of the quiet zone all but the last module: the frame's blur reaches into that. */
const QUIET_MODULES = CODE128_QUIET_MODULES - 1;

interface Code128Geometry {
  /** The pixel at which a point is seen: in modules from the first bar, and as a share of the bars' height. */
  readonly seen: (along: number, down: number) => Point;
  readonly pxPerModule: number;
}

export function gradeCode128(picture: GrayPicture, text: string, geometry: Code128Geometry): SymbolGrade {
  const { widths } = code128Bars(text);
  const profiles = Array.from({ length: PROFILES }, (_, index) => {
    const down = (1 - MIDDLE_SHARE) / 2 + (MIDDLE_SHARE * (index + 0.5)) / PROFILES;
    return gradeProfile(scan(picture, widths, down, geometry), widths);
  });
  const grade = Math.round((10 * profiles.reduce((sum, { lowest }) => sum + lowest, 0)) / PROFILES) / 10;
  const worst = profiles.reduce((a, b) => (b.lowest < a.lowest ? b : a));
  return { grade, letter: letterOf(grade), parts: worst.parts, pxPerModule: geometry.pxPerModule };
}

/** Reflected light along a line across the bars, quiet zones included, relative to the paper. */
function scan(
  picture: GrayPicture,
  widths: readonly number[],
  down: number,
  geometry: Code128Geometry,
): Float64Array {
  const modules = widths.reduce((sum, width) => sum + width, 0) + 2 * QUIET_MODULES;
  const moduleDown = geometry.pxPerModule;
  const profile = new Float64Array(modules * STEPS_A_MODULE + 1);
  for (let step = 0; step < profile.length; step++) {
    const along = step / STEPS_A_MODULE - QUIET_MODULES;
    const at = geometry.seen(along, down);
    const ahead = geometry.seen(along + 1, down);
    const [ux, uy] = [(ahead.x - at.x) / moduleDown, (ahead.y - at.y) / moduleDown];
    profile[step] = apertureLight(picture, (dx, dy) => ({
      x: at.x + moduleDown * (dx * ux - dy * uy),
      y: at.y + moduleDown * (dx * uy + dy * ux),
    }));
  }
  return relativeToPaper(profile);
}

interface ProfileGrade {
  readonly lowest: Grade;
  readonly parts: readonly GradedPart[];
}

function gradeProfile(profile: Float64Array, widths: readonly number[]): ProfileGrade {
  const [darkest, lightest] = [Math.min(...profile), Math.max(...profile)];
  const contrast = lightest - darkest;
  const edges = crossings(profile, (lightest + darkest) / 2);
  const isDecoded = edges.length === widths.length + 1;
  const passes = (isPassed: boolean): Grade => (isPassed ? 4 : 0);
  const parts: GradedPart[] = [
    { name: 'decode', value: null, grade: passes(isDecoded) },
    { name: 'contrast', value: contrast, grade: gradeFrom(contrast, CONTRAST) },
    { name: 'minimum reflectance', value: darkest, grade: passes(darkest <= lightest / 2) },
  ];
  if (isDecoded) {
    const elements = elementsBetween(profile, edges);
    const edgeContrast = Math.min(
      ...elements
        .slice(1)
        .map((element, index) => Math.abs(element.extreme - (elements[index]?.extreme ?? 0))),
    );
    const modulation = edgeContrast / contrast;
    const defects = Math.max(...elements.map(({ unevenness }) => unevenness)) / contrast;
    const decodability = decodabilityOf(edges, widths);
    parts.push(
      { name: 'edge contrast', value: edgeContrast, grade: passes(edgeContrast >= LEAST_EDGE_CONTRAST) },
      { name: 'modulation', value: modulation, grade: gradeFrom(modulation, MODULATION) },
      { name: 'defects', value: defects, grade: gradeUpTo(defects, DEFECTS) },
      { name: 'decodability', value: decodability, grade: gradeFrom(decodability, DECODABILITY) },
    );
  }
  return { lowest: Math.min(...parts.map(({ grade }) => grade ?? 4)) as Grade, parts };
}

/** Where the profile crosses the threshold, in steps. */
function crossings(profile: Float64Array, threshold: number): number[] {
  const edges: number[] = [];
  for (let step = 1; step < profile.length; step++) {
    const [before, after] = [(profile[step - 1] ?? 0) - threshold, (profile[step] ?? 0) - threshold];
    if (before > 0 !== after > 0) edges.push(step - 1 + before / (before - after));
  }
  return edges;
}

interface Element {
  /** The highest light of a space, the lowest of a bar. */
  readonly extreme: number;
  /** Between its highest peak and lowest valley; 0 where there is but one of them. */
  readonly unevenness: number;
}

/** Quiet zone, bar, space, ... bar, quiet zone. */
function elementsBetween(profile: Float64Array, edges: readonly number[]): Element[] {
  const borders = [0, ...edges.map(Math.ceil), profile.length];
  return borders.slice(1).map((end, index) => {
    const values = profile.subarray(borders[index], end);
    const isSpace = index % 2 === 0;
    const extreme = isSpace ? Math.max(...values) : Math.min(...values);
    let opposite = extreme;
    for (let at = 1; at + 1 < values.length; at++) {
      const [before, here, after] = [values[at - 1] ?? 0, values[at] ?? 0, values[at + 1] ?? 0];
      if (isSpace ? here < before && here <= after : here > before && here >= after) {
        opposite = isSpace ? Math.min(opposite, here) : Math.max(opposite, here);
      }
    }
    return { extreme, unevenness: Math.abs(extreme - opposite) };
  });
}

/**
 * How near the widths come to being taken for others. A character of six elements is told by the
 * distances of like edges, in modules of an eleventh of its width, and by the sum of its bars.
 */
function decodabilityOf(edges: readonly number[], widths: readonly number[]): number {
  let least = 1;
  for (let first = 0; first + 6 < edges.length; first += 6) {
    const character = edges.slice(first, first + 7);
    const [start = 0, end = 0] = [character[0], character[6]];
    const module = (end - start) / 11;
    const ideal = widths.slice(first, first + 6);
    for (let element = 0; element < 4; element++) {
      const measured = ((character[element + 2] ?? 0) - (character[element] ?? 0)) / module;
      const meant = (ideal[element] ?? 0) + (ideal[element + 1] ?? 0);
      least = Math.min(least, (0.5 - Math.abs(measured - meant)) / 0.5);
    }
    const bars =
      [0, 2, 4].reduce((sum, at) => sum + (character[at + 1] ?? 0) - (character[at] ?? 0), 0) / module;
    const meant = [0, 2, 4].reduce((sum, at) => sum + (ideal[at] ?? 0), 0);
    least = Math.min(least, (1.75 - Math.abs(bars - meant)) / 1.75);
  }
  return Math.max(0, least);
}
