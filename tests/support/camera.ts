/**
 * Photographs printed tags as a grower's phone would: on the bench or round a pot, at an angle, in
 * patchy light, faded, dirty, wet and out of focus. A pure function of its arguments and the seed.
 *
 * The scene is one surface, measured in mm from the first tag's centre: a bench top, or the side of a
 * pot whose axis is upright. Each pixel's ray meets it at (x, y), where tag, mud and water lie; then
 * come light, lens and sensor. Levels are those of the finished picture (0 to 255), not of light.
 */
import sharp from 'sharp';
import { blurAlong, blurGaussian, exposed } from './camera-lens.js';
import {
  clamp01,
  type DirtLayers,
  type Ground,
  groundColour,
  halvedTo,
  makeDirt,
  makeNoise,
  type Noise,
  type Rgb,
  smoothstep,
} from './camera-surface.js';
import { makeView, type SizePx, type Spot, type Stand, type View } from './camera-view.js';
import { type Random, seededRandom } from './random.js';
import type { BoxMm, GrayImage } from './rasterise.js';

/** A printed tag lying in the scene. */
export interface PlacedTag {
  readonly face: GrayImage;
  /** Scale of `face`. Take at least that of the photo, or the print comes out soft. */
  readonly facePxPerMm: number;
  /** Where its centre lies; the first tag is best left at 0, 0. */
  readonly xMm: number;
  readonly yMm: number;
  /** Clockwise, in the surface. */
  readonly turnDeg: number;
}

export interface Damage {
  /** Resolution at the first tag's centre, were it seen straight on. */
  readonly pxPerMm: number;
  /** Angle between the line of sight and the straight view; the side it tips to is drawn by the seed. */
  readonly tiltDeg: number;
  /** Roll of the phone, clockwise. */
  readonly rotationDeg: number;
  /** The arc of the pot that the first tag's width goes round; 0 lays the tag on a flat bench. */
  readonly wrapDeg: number;
  /** How much of the ink's contrast is left: 1 fresh, 0 gone. */
  readonly inkLeft: number;
  /** Exposure: 1 is right, 0.2 is dusk. */
  readonly light: number;
  /** How much of the light the deepest shade takes, 0 to 1. */
  readonly shade: number;
  /** Standard deviation of the lens blur. */
  readonly blurPx: number;
  /** How far the hand moved during the exposure. */
  readonly motionPx: number;
  /** Standard deviation of the sensor noise, as a share of full scale. */
  readonly noise: number;
  /** Share of `dirtBox` under mud, and in how many blobs. */
  readonly mudShare: number;
  readonly mudBlobs: number;
  /** Share of `dirtBox` under fine splashes. */
  readonly splashShare: number;
  /** Share of `dirtBox` washed out by the sun's reflection. */
  readonly glareShare: number;
  /** 0 dry to 1 dripping: drops on a quarter of `dirtBox`, and a film that dulls what is under it. */
  readonly wetness: number;
  readonly scratchCount: number;
  /** Share of `dirtBox` that is torn off, with all of the tag beyond it. */
  readonly tornShare: number;
  /** The part of each tag that the dirt and glare are measured on, mm from its top left; null is all of it. */
  readonly dirtBox: BoxMm | null;
  /** What the tag lies on; null lets the seed choose among those that fit. */
  readonly ground: Ground | null;
  /** The picture's size; null lets it hold every tag with about a quarter of their extent around them. */
  readonly sizePx: SizePx | null;
}

/** A fresh tag on a bench, straight on, in good light. */
export const NO_DAMAGE: Damage = {
  pxPerMm: 8,
  tiltDeg: 0,
  rotationDeg: 0,
  wrapDeg: 0,
  inkLeft: 1,
  light: 1,
  shade: 0,
  blurPx: 0.5,
  motionPx: 0,
  noise: 0.01,
  mudShare: 0,
  mudBlobs: 3,
  splashShare: 0,
  glareShare: 0,
  wetness: 0,
  scratchCount: 0,
  tornShare: 0,
  dirtBox: null,
  ground: null,
  sizePx: null,
};

export interface Photo {
  /** Red, green, blue; three bytes a pixel. */
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
  /** The pixel at which a point of the first tag, mm from its top left, is seen. */
  readonly pixelOf: (xMm: number, yMm: number) => { readonly x: number; readonly y: number };
}

/** A tag alone in the middle of the scene. */
export const lone = (face: GrayImage, facePxPerMm: number): PlacedTag[] => [
  { face, facePxPerMm, xMm: 0, yMm: 0, turnDeg: 0 },
];

/** A picture of the tags, the first of them seen as `damage` says. */
export function photograph(tags: readonly PlacedTag[], damage: Damage, seed: number): Photo {
  const random = seededRandom(seed);
  const noise = makeNoise(random);
  const things = tags.map((tag) => prepared(tag, damage, noise, random));
  const [first] = things;
  if (!first) throw new RangeError('a photo needs at least one tag');
  const view = makeView(things.flatMap(rimOf), standOf(first, damage), random);
  const ground = damage.ground ?? pick(damage.wrapDeg > 0 ? POTS : BENCHES, random);
  const lightAt = makeLight(damage, view, noise, random);
  const film = { noise, wetness: damage.wetness };

  const { width, height } = view;
  const data = new Float32Array(width * height * 3);
  const colour: Rgb = [0, 0, 0];
  const spot: Spot = { x: 0, y: 0, facing: 1 };
  for (let py = 0, at = 0; py < height; py++) {
    for (let px = 0; px < width; px++, at += 3) {
      let level = lightAt(px, py);
      if (view.look(px, py, spot)) {
        groundColour(ground, noise, spot.x, spot.y, colour);
        for (const thing of things) drawTag(thing, damage, film, spot, colour);
        level *= 0.35 + 0.65 * spot.facing;
      } else {
        // Past the edge of the pot: the blurred green of the garden.
        const leaf = noise(px / 90, py / 90);
        [colour[0], colour[1], colour[2]] = [70 + 60 * leaf, 92 + 80 * leaf, 62 + 40 * leaf];
      }
      data[at] = colour[0] * level;
      data[at + 1] = colour[1] * level;
      data[at + 2] = colour[2] * level * view.warmth;
    }
  }
  addGlare(data, view, things, damage, random);
  const seen = blurGaussian(
    blurAlong({ data, width, height }, damage.motionPx, random.between(0, Math.PI)),
    damage.blurPx,
  );
  return {
    data: exposed(seen, damage.noise, random),
    width,
    height,
    pixelOf: (xMm, yMm) => view.seen(...onSurface(first, xMm, yMm)),
  };
}

/** The photo as a file's bytes. */
export async function encodePhoto(
  { data, width, height }: Pick<Photo, 'data' | 'width' | 'height'>,
  format: 'jpeg' | 'png' | 'webp',
  quality = 88,
): Promise<Uint8Array> {
  const image = sharp(data, { raw: { width, height, channels: 3 } });
  return new Uint8Array(await image.toFormat(format, format === 'png' ? {} : { quality }).toBuffer());
}

/** The photo in grey, weighted as ITU-R BT.601 says. */
export function grayOf({ data, width, height }: Photo): GrayImage {
  const gray = new Uint8Array(width * height);
  for (let pixel = 0, at = 0; pixel < gray.length; pixel++, at += 3) {
    const [red, green, blue] = [data[at] as number, data[at + 1] as number, data[at + 2] as number];
    gray[pixel] = Math.round(0.299 * red + 0.587 * green + 0.114 * blue);
  }
  return { data: gray, width, height };
}

const BENCHES = ['bench', 'soil'] as const;
const POTS = ['terracotta', 'black plastic'] as const;
const pick = <T>(choices: readonly T[], random: Random): T => choices[random.below(choices.length)] as T;

/** A tag ready to be sampled. */
interface Thing {
  readonly tag: PlacedTag;
  readonly face: GrayImage;
  readonly pxPerMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly cos: number;
  readonly sin: number;
  readonly box: BoxMm;
  readonly dirt: DirtLayers;
  /** How far a point lies beyond the tear, in mm. */
  readonly beyondTear: (xMm: number, yMm: number) => number;
}

function prepared(tag: PlacedTag, damage: Damage, noise: Noise, random: Random): Thing {
  const widthMm = tag.face.width / tag.facePxPerMm;
  const heightMm = tag.face.height / tag.facePxPerMm;
  const box = damage.dirtBox ?? { x: 0, y: 0, width: widthMm, height: heightMm };
  const { mudShare, mudBlobs, splashShare, scratchCount, wetness } = damage;
  const size = { width: widthMm, height: heightMm };
  const dirt = makeDirt(
    { box, mudShare, mudBlobs, splashShare, scratchCount, dropShare: wetness / 4 },
    size,
    noise,
    random,
  );
  const turn = (tag.turnDeg * Math.PI) / 180;
  const { face, pxPerMm } = halvedTo(tag.face, tag.facePxPerMm, damage.pxPerMm);
  const beyondTear = damage.tornShare > 0 ? tear(box, damage.tornShare, noise, random) : () => -1;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return { tag, face, pxPerMm, widthMm, heightMm, cos, sin, box, dirt, beyondTear };
}

/** A ragged line across the box, in a direction drawn at random, that leaves this share of it beyond. */
function tear(box: BoxMm, share: number, noise: Noise, random: Random): Thing['beyondTear'] {
  const towards = random.between(0, 2 * Math.PI);
  const [cos, sin] = [Math.cos(towards), Math.sin(towards)];
  const along = (x: number, y: number): number =>
    (x - box.x) * cos + (y - box.y) * sin + 3 * (noise(x * 0.25, y * 0.25) - 0.5);
  const SIDE = 60;
  const places = Array.from({ length: SIDE * SIDE }, (_, index) =>
    along(
      box.x + (((index % SIDE) + 0.5) / SIDE) * box.width,
      box.y + ((Math.floor(index / SIDE) + 0.5) / SIDE) * box.height,
    ),
  ).sort((a, b) => b - a);
  const line = places[Math.floor(share * places.length)] as number;
  return (x, y) => along(x, y) - line;
}

/** A point of a tag, mm from its top left, as a point of the surface. */
function onSurface({ tag, widthMm, heightMm, cos, sin }: Thing, xMm: number, yMm: number): [number, number] {
  const [dx, dy] = [xMm - widthMm / 2, yMm - heightMm / 2];
  return [tag.xMm + cos * dx - sin * dy, tag.yMm + sin * dx + cos * dy];
}

/** Points along a tag's long edges: enough to frame it even where it curves. */
const rimOf = (thing: Thing): [number, number][] =>
  [0, 0.25, 0.5, 0.75, 1].flatMap((along) =>
    [0, 1].map((down) => onSurface(thing, along * thing.widthMm, down * thing.heightMm)),
  );

function standOf(
  { widthMm, heightMm }: Thing,
  { pxPerMm, tiltDeg, rotationDeg, wrapDeg, sizePx }: Damage,
): Stand {
  const radiusMm = wrapDeg > 0 ? widthMm / ((wrapDeg * Math.PI) / 180) : 0;
  return {
    pxPerMm,
    tiltDeg,
    rotationDeg,
    radiusMm,
    distanceMm: Math.max(150, 3 * Math.max(widthMm, heightMm)),
    sizePx,
  };
}

const PAPER: Rgb = [240, 238, 230];
const INK: Rgb = [26, 25, 28];
const MUD: Rgb = [104, 76, 50];

/** Lays a tag, its shadow and what is on it over the colour of the ground. */
function drawTag(
  thing: Thing,
  damage: Damage,
  film: { readonly noise: Noise; readonly wetness: number },
  spot: Spot,
  colour: Rgb,
): void {
  const { tag, widthMm, heightMm, cos, sin, dirt } = thing;
  const [dx, dy] = [spot.x - tag.xMm, spot.y - tag.yMm];
  let x = cos * dx + sin * dy + widthMm / 2;
  let y = cos * dy - sin * dx + heightMm / 2;
  if (x < -OUTSIDE_MM || y < -OUTSIDE_MM || x > widthMm + OUTSIDE_MM || y > heightMm + OUTSIDE_MM) return;
  if (thing.beyondTear(x, y) > 0) return;
  const mud = dirt.mudAt(x, y);
  const [mudX, mudY] = [x, y];

  let gleam = 0;
  for (const drop of dirt.drops) {
    const [ex, ey] = [x - drop.x, y - drop.y];
    const near = (ex * ex + ey * ey) / (drop.radius * drop.radius);
    if (near >= 1) continue;
    // A drop is a lens: it shows what is under its middle larger, with a bright and a dark side.
    x -= 0.35 * (1 - near) * ex;
    y -= 0.35 * (1 - near) * ey;
    gleam += near > 0.75 ? 30 * ((ex + ey) / drop.radius) * (near - 0.75) * 4 : 0;
    if (Math.hypot(ex + 0.4 * drop.radius, ey + 0.4 * drop.radius) < 0.22 * drop.radius) gleam += 190;
    break;
  }
  const inside = Math.min(x, y, widthMm - x, heightMm - y);
  const cover = clamp01(inside * damage.pxPerMm + 0.5);
  if (cover < 1) {
    // The label has thickness: a soft shadow down and to the right of it.
    const shadow = Math.min(x - 0.8, y - 0.8, widthMm + 0.8 - x, heightMm + 0.8 - y);
    const dim = 1 - 0.45 * smoothstep(-1, 0.8, shadow);
    for (let channel = 0; channel < 3; channel++) colour[channel as 0] *= dim;
  }
  if (cover > 0) {
    const printed = 1 - faceAt(thing, x, y) / 255;
    let ink = printed * damage.inkLeft * (1 - dirt.scratchAt(x, y));
    let haze = 0;
    if (film.wetness > 0) {
      const patch = smoothstep(0.35, 0.6, film.noise(x * 0.11 + 7, y * 0.11 + 3));
      ink *= 1 - 0.3 * film.wetness * patch;
      haze = 14 * film.wetness * patch;
    }
    const fibre = 1 + 0.03 * (film.noise(x * 0.4, y * 0.4) - 0.5);
    for (let channel = 0; channel < 3; channel++) {
      const paper = PAPER[channel as 0] * fibre;
      const value = paper + (INK[channel as 0] - paper) * ink + gleam - haze;
      colour[channel as 0] += cover * (value - colour[channel as 0]);
    }
  }
  if (mud > 0) {
    const shade = dirt.mudShadeAt(mudX, mudY);
    for (let channel = 0; channel < 3; channel++) {
      colour[channel as 0] += mud * (MUD[channel as 0] * shade - colour[channel as 0]);
    }
  }
}

/** How far past a tag's edge its mud and shadow reach. */
const OUTSIDE_MM = 10;

/** The tag's print at a point, between pixels; the edge pixels go on beyond the edge. */
function faceAt({ face, pxPerMm }: Thing, xMm: number, yMm: number): number {
  const x = Math.min(face.width - 1.001, Math.max(0, xMm * pxPerMm - 0.5));
  const y = Math.min(face.height - 1.001, Math.max(0, yMm * pxPerMm - 0.5));
  const [left, top] = [Math.floor(x), Math.floor(y)];
  const [fx, fy, at] = [x - left, y - top, top * face.width + left];
  const upper = (face.data[at] as number) * (1 - fx) + (face.data[at + 1] as number) * fx;
  const lower =
    (face.data[at + face.width] as number) * (1 - fx) + (face.data[at + face.width + 1] as number) * fx;
  return upper * (1 - fy) + lower * fy;
}

/** Light over the picture: brighter to one side, patchy as under leaves, darker in the corners. */
function makeLight(
  { light, shade }: Damage,
  { width, height }: View,
  noise: Noise,
  random: Random,
): (px: number, py: number) => number {
  const size = Math.max(width, height);
  const from = random.between(0, 2 * Math.PI);
  const [cos, sin, ox, oy] = [Math.cos(from), Math.sin(from), random.between(0, 99), random.between(0, 99)];
  return (px, py) => {
    const [x, y] = [px / size - width / size / 2, py / size - height / size / 2];
    const corner = 1 - 0.35 * (x * x + y * y);
    if (shade === 0) return light * corner;
    const leaves = smoothstep(0.44, 0.56, noise(ox + 2.2 * x, oy + 2.2 * y) + 0.3 * (x * cos + y * sin));
    return light * corner * (1 - shade * leaves);
  };
}

/** The sun in the tag's face: an oval that goes to white over the asked share of the dirt box. */
function addGlare(
  data: Float32Array,
  view: View,
  things: readonly Thing[],
  damage: Damage,
  random: Random,
): void {
  if (damage.glareShare <= 0) return;
  for (const thing of things) {
    const { box } = thing;
    const middle = onSurface(thing, box.x + random.next() * box.width, box.y + random.next() * box.height);
    const at = view.seen(...middle);
    const radius = Math.sqrt((damage.glareShare * box.width * box.height) / Math.PI) * damage.pxPerMm;
    const [turn, stretch] = [random.between(0, Math.PI), random.between(1, 1.5)];
    const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
    for (let py = 0, to = 0; py < view.height; py++) {
      for (let px = 0; px < view.width; px++, to += 3) {
        const along = ((px - at.x) * cos + (py - at.y) * sin) / stretch;
        const across = ((py - at.y) * cos - (px - at.x) * sin) * stretch;
        const near = (along * along + across * across) / (radius * radius);
        if (near > 6) continue;
        // At the rim of the share (near = 1) even ink reaches 230.
        const glow = 1000 * Math.exp(-1.47 * near);
        for (let channel = 0; channel < 3; channel++)
          data[to + channel] = (data[to + channel] as number) + glow;
      }
    }
  }
}
