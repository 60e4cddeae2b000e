/** Kinds of damage, each at several levels, for the camera of tests/support. */

import { type Damage, NO_DAMAGE } from '../support/camera.js';
import type { Random } from '../support/random.js';
import type { WeatherTag } from './weather-tags.js';

export interface DamageKind {
  readonly name: string;
  /** What the levels count, for the axis of the plot. */
  readonly unit: string;
  readonly levels: readonly number[];
  readonly at: (level: number, pxPerModule: number, tag: WeatherTag) => Partial<Damage>;
  /** Whether a tag can be seen so; if not said, all can. */
  readonly suits?: (level: number, tag: WeatherTag) => boolean;
}

export const KINDS: readonly DamageKind[] = [
  {
    name: 'mud',
    unit: 'share of the symbol covered',
    levels: [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7],
    at: (level) => ({ mudShare: level }),
  },
  {
    name: 'splashes',
    unit: 'share of the symbol covered',
    levels: [0.1, 0.2, 0.3, 0.4],
    at: (level) => ({ splashShare: level }),
  },
  {
    name: 'glare',
    unit: 'share of the symbol washed out',
    levels: [0.05, 0.1, 0.2, 0.3, 0.4],
    at: (level) => ({ glareShare: level }),
  },
  {
    name: 'torn off',
    unit: 'share of the symbol missing',
    levels: [0.1, 0.25, 0.5, 0.6],
    at: (level) => ({ tornShare: level }),
  },
  {
    name: 'fading',
    unit: 'share of the contrast lost',
    levels: [0.7, 0.85, 0.92, 0.96],
    at: (level) => ({ inkLeft: 1 - level }),
  },
  {
    name: 'blur',
    unit: 'standard deviation, modules',
    levels: [0.5, 0.7, 0.9, 1.1],
    at: (level, pxPerModule) => ({ blurPx: level * pxPerModule }),
  },
  {
    name: 'low light',
    unit: 'light lost, with its noise',
    levels: [0.7, 0.85, 0.93, 0.97],
    at: (level) => ({ light: 1 - level, noise: 0.03 }),
  },
  {
    name: 'water',
    unit: 'wetness',
    levels: [0.3, 0.6, 1],
    at: (level) => ({ wetness: level }),
  },
  {
    name: 'scratches',
    unit: 'how many',
    levels: [10, 30, 60],
    at: (level) => ({ scratchCount: level }),
  },
  {
    name: 'pot',
    unit: 'degrees the tag goes round',
    levels: [60, 90, 120],
    at: (level) => ({ wrapDeg: level }),
  },
  {
    name: 'mixture',
    unit: 'share of mud, with shade, fading, water, scratches',
    levels: [0.1, 0.2, 0.3, 0.4],
    at: (level) => ({
      mudShare: level,
      shade: 0.5,
      inkLeft: 0.6,
      wetness: 0.3,
      scratchCount: 6,
      noise: 0.03,
      glareShare: 0.03,
    }),
  },
];

/** Twelve megapixels, as phones take. */
const PHONE_PX = { width: 4000, height: 3000 };
const LEAST_FAR_PX = 3;

/** Not among `KINDS`, which others draw from by lot: their seeds keep their photos. */
export const FAR: DamageKind = {
  name: 'far',
  unit: "share of the picture's width, mud on a fifth",
  levels: [0.33, 0.17, 0.1],
  at: (level, _, tag) => ({ mudShare: 0.2, sizePx: PHONE_PX, pxPerMm: farPxPerMm(level, tag) }),
  suits: (level, tag) => farPxPerMm(level, tag) * tag.moduleMm >= LEAST_FAR_PX,
};

/** Of a tag whose longer side is that share of the picture's width. */
function farPxPerMm(share: number, { face, facePxPerMm }: WeatherTag): number {
  return (share * PHONE_PX.width * facePxPerMm) / Math.max(face.width, face.height);
}

/** Pixels a module: from far off to close by. */
const LEAST_PX = 2;
const MOST_PX = 8;

/** A tag held at any angle, tipped up to 30°, at 2 to 8 pixels a module, with this damage on its symbol. */
export function damageOf(
  kind: DamageKind,
  level: number,
  tag: WeatherTag,
  random: Random,
  pxPerModule = random.between(LEAST_PX, MOST_PX),
): Damage {
  return {
    ...NO_DAMAGE,
    pxPerMm: pxPerModule / tag.moduleMm,
    tiltDeg: random.between(0, 30),
    rotationDeg: random.between(0, 360),
    noise: 0.015,
    blurPx: 0.6,
    mudBlobs: 1 + random.below(5),
    dirtBox: tag.symbolMm,
    ...kind.at(level, pxPerModule, tag),
  };
}
