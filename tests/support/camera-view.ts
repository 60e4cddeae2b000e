/** Where each pixel of a photo looks: a pinhole camera over a flat bench or before an upright pot. */
import type { Random } from './random.js';

/** A point of the surface in mm, and how squarely it faces the light and lens, 0 to 1. */
export interface Spot {
  x: number;
  y: number;
  facing: number;
}

export interface View {
  readonly width: number;
  readonly height: number;
  readonly warmth: number;
  /** Finds what a pixel sees; false when its ray misses the pot. */
  look(px: number, py: number, into: Spot): boolean;
  /** The pixel that sees a point of the surface. */
  seen(x: number, y: number): { x: number; y: number };
}

export interface Stand {
  readonly pxPerMm: number;
  readonly tiltDeg: number;
  readonly rotationDeg: number;
  /** Radius of the pot; 0 is a flat bench. */
  readonly radiusMm: number;
  /** From the lens to the origin of the surface. */
  readonly distanceMm: number;
  /** Of the picture; null is as large as what it shows asks for. */
  readonly sizePx: SizePx | null;
}

export interface SizePx {
  readonly width: number;
  readonly height: number;
}

/** A pinhole camera looking at the surface's origin; the frame is laid round the points of `rim`. */
export function makeView(rim: readonly (readonly [number, number])[], stand: Stand, random: Random): View {
  const { radiusMm: radius, distanceMm: distance } = stand;
  const focalPx = stand.pxPerMm * distance;
  const rotation = viewRotation(stand.tiltDeg, stand.rotationDeg, random.between(0, 2 * Math.PI));
  const [r0, r1, r2, r3, r4, r5, r6, r7, r8] = rotation;

  const project = (x: number, y: number): { x: number; y: number } => {
    const sx = radius > 0 ? radius * Math.sin(x / radius) : x;
    const sz = radius > 0 ? radius * Math.cos(x / radius) - radius : 0;
    const depth = distance - (r6 * sx + r7 * y + r8 * sz);
    return {
      x: (focalPx * (r0 * sx + r1 * y + r2 * sz)) / depth,
      y: (focalPx * (r3 * sx + r4 * y + r5 * sz)) / depth,
    };
  };
  const points = rim.map(([x, y]) => project(x, y));
  const [left, right] = [
    Math.min(...points.map((point) => point.x)),
    Math.max(...points.map((point) => point.x)),
  ];
  const [top, bottom] = [
    Math.min(...points.map((point) => point.y)),
    Math.max(...points.map((point) => point.y)),
  ];
  const margin = 0.2 * Math.max(right - left, bottom - top);
  const { width, height } = stand.sizePx ?? {
    width: Math.ceil(right - left + 2 * margin),
    height: Math.ceil(bottom - top + 2 * margin),
  };
  const marginX = stand.sizePx === null ? margin : (width - (right - left)) / 2;
  const marginY = stand.sizePx === null ? margin : (height - (bottom - top)) / 2;
  // Tags are seldom in the very middle, and never on whole pixels.
  const centreX = marginX * random.between(0.6, 1.4) - left;
  const centreY = marginY * random.between(0.6, 1.4) - top;
  const seen = (x: number, y: number): { x: number; y: number } => {
    const point = project(x, y);
    return { x: point.x + centreX, y: point.y + centreY };
  };

  // The camera's place and, for each pixel, the ray's direction, turned back into the scene.
  const [ox, oy, oz] = [r6 * distance, r7 * distance, r8 * distance];
  const look = (px: number, py: number, into: Spot): boolean => {
    const u = (px + 0.5 - centreX) / focalPx;
    const v = (py + 0.5 - centreY) / focalPx;
    const dx = r0 * u + r3 * v - r6;
    const dy = r1 * u + r4 * v - r7;
    const dz = r2 * u + r5 * v - r8;
    if (radius === 0) {
      const reach = -oz / dz;
      into.x = ox + reach * dx;
      into.y = oy + reach * dy;
      into.facing = 1;
      return true;
    }
    const a = dx * dx + dz * dz;
    const b = ox * dx + (oz + radius) * dz;
    const c = ox * ox + (oz + radius) ** 2 - radius * radius;
    const root = b * b - a * c;
    if (root < 0) return false;
    const reach = (-b - Math.sqrt(root)) / a;
    const [sx, sz] = [ox + reach * dx, oz + radius + reach * dz];
    into.x = radius * Math.atan2(sx, sz);
    into.y = oy + reach * dy;
    into.facing = Math.max(0, (0.35 * -sx + 0.94 * sz) / radius);
    return true;
  };
  return { width, height, warmth: random.between(0.9, 1.05), look, seen };
}

/** Rows of the rotation from scene to camera: tipped by `tiltDeg` toward `toward`, then rolled. */
function viewRotation(
  tiltDeg: number,
  rollDeg: number,
  toward: number,
): [number, number, number, number, number, number, number, number, number] {
  const [tilt, roll] = [(tiltDeg * Math.PI) / 180, (rollDeg * Math.PI) / 180];
  // Rotation by `tilt` about the axis (x, y, 0), by Rodrigues' formula.
  const [x, y, c, s] = [Math.cos(toward), Math.sin(toward), Math.cos(tilt), Math.sin(tilt)];
  const tipped = [
    [c + x * x * (1 - c), x * y * (1 - c), y * s],
    [x * y * (1 - c), c + y * y * (1 - c), -x * s],
    [-y * s, x * s, c],
  ] as const;
  const [cr, sr] = [Math.cos(roll), Math.sin(roll)];
  const [a, b, d] = tipped;
  return [
    cr * a[0] - sr * b[0],
    cr * a[1] - sr * b[1],
    cr * a[2] - sr * b[2],
    sr * a[0] + cr * b[0],
    sr * a[1] + cr * b[1],
    sr * a[2] + cr * b[2],
    ...d,
  ];
}
