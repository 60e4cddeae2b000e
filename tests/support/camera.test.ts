import { describe, expect, it } from 'vitest';
import { type Damage, encodePhoto, grayOf, lone, NO_DAMAGE, type Photo, photograph } from './camera.js';
import { blurAlong, blurGaussian } from './camera-lens.js';
import type { GrayImage } from './rasterise.js';

/** A plain tag of 60 × 30 mm at 12 px/mm. */
function plainTag(level: number, dots: readonly { x: number; y: number }[] = []): GrayImage {
  const [width, height] = [720, 360];
  const data = new Uint8Array(width * height).fill(level);
  for (const dot of dots) {
    for (let y = -11.5; y < 12; y++) {
      for (let x = -11.5; x < 12; x++) {
        if (Math.hypot(x, y) < 11) data[Math.floor(dot.y * 12 + y) * width + Math.floor(dot.x * 12 + x)] = 0;
      }
    }
  }
  return { data, width, height };
}

const shot = (face: GrayImage, damage: Partial<Damage>, seed = 1): Photo =>
  photograph(lone(face, 12), { ...NO_DAMAGE, pxPerMm: 5, noise: 0, blurPx: 0, ...damage }, seed);

/** The share of the photo's pixels inside a straight-on box of the tag that `test` accepts. */
function shareOfBox(photo: Photo, test: (r: number, g: number, b: number) => boolean): number {
  const [from, to] = [photo.pixelOf(10, 5), photo.pixelOf(50, 25)];
  let [hits, count] = [0, 0];
  for (let y = Math.ceil(from.y); y < Math.floor(to.y); y++) {
    for (let x = Math.ceil(from.x); x < Math.floor(to.x); x++, count++) {
      const at = 3 * (y * photo.width + x);
      if (test(photo.data[at] ?? 0, photo.data[at + 1] ?? 0, photo.data[at + 2] ?? 0)) hits++;
    }
  }
  return hits / count;
}

const BOX = { x: 10, y: 5, width: 40, height: 20 };

describe('photograph', () => {
  it('is a pure function of the seed', () => {
    const damage = {
      mudShare: 0.2,
      noise: 0.05,
      tiltDeg: 20,
      wetness: 0.5,
      scratchCount: 5,
      glareShare: 0.05,
    };
    const photo = shot(plainTag(255), damage, 5);
    expect(Buffer.compare(shot(plainTag(255), damage, 5).data, photo.data)).toBe(0);
    expect(Buffer.compare(shot(plainTag(255), damage, 6).data, photo.data)).not.toBe(0);
  });

  it('has the asked resolution straight on', () => {
    const { pixelOf } = shot(plainTag(255), { pxPerMm: 7, rotationDeg: 90 });
    const [from, to] = [pixelOf(10, 5), pixelOf(50, 5)];
    expect(Math.hypot(to.x - from.x, to.y - from.y)).toBeCloseTo(280, 6);
    // Rolled by 90° the tag's width runs down the picture.
    expect(to.y - from.y).toBeCloseTo(280, 6);
  });

  it.each([
    { tiltDeg: 0 },
    { tiltDeg: 35, rotationDeg: 70 },
    { wrapDeg: 90 },
    { wrapDeg: 60, tiltDeg: 25, rotationDeg: -20 },
    { tiltDeg: 20, rotationDeg: 40, sizePx: { width: 1400, height: 1100 } },
  ])('shows a dot where pixelOf says: %o', (damage) => {
    for (const dot of [
      { x: 20, y: 8 },
      { x: 30, y: 15 },
      { x: 42, y: 22 },
    ]) {
      const photo = shot(plainTag(255, [dot]), { ...damage, pxPerMm: 10 }, 3);
      const { data, width } = grayOf(photo);
      const at = photo.pixelOf(dot.x, dot.y);
      let [ink, x, y] = [0, 0, 0];
      for (let py = Math.round(at.y) - 14; py <= at.y + 14; py++) {
        for (let px = Math.round(at.x) - 14; px <= at.x + 14; px++) {
          const dark = Math.max(0, 150 - (data[py * width + px] ?? 0));
          ink += dark;
          x += dark * (px + 0.5);
          y += dark * (py + 0.5);
        }
      }
      expect(Math.hypot(x / ink - at.x, y / ink - at.y)).toBeLessThan(0.6);
    }
  });

  it.each([0.05, 0.2, 0.4, 0.6])('covers %d of the dirt box with mud', (mudShare) => {
    for (const seed of [1, 2, 3]) {
      const photo = shot(plainTag(255), { mudShare, dirtBox: BOX, mudBlobs: 4 }, seed);
      const share = shareOfBox(photo, (red, _green, blue) => blue < 0.72 * red);
      expect(Math.abs(share - mudShare)).toBeLessThan(0.03);
    }
  });

  it('washes out the asked share of black ink where the oval lies inside the box', () => {
    const shares = Array.from({ length: 12 }, (_, seed) =>
      shareOfBox(shot(plainTag(0), { glareShare: 0.1, dirtBox: BOX }, seed), (red) => red >= 230),
    );
    expect(Math.max(...shares)).toBeLessThan(0.12);
    expect(Math.max(...shares)).toBeGreaterThan(0.08);
  });

  it('leaves the asked share of the ink, light and shade', () => {
    const brightness = (level: number, damage: Partial<Damage>): number => {
      const { data, width, height } = grayOf(shot(plainTag(level), damage));
      return data[Math.floor(height / 2) * width + Math.floor(width / 2)] ?? 0;
    };
    const [paper, ink] = [brightness(255, {}), brightness(0, {})];
    expect(paper - brightness(0, { inkLeft: 0.3 })).toBeCloseTo(0.3 * (paper - ink), -0.5);
    expect(brightness(255, { light: 0.4 })).toBeCloseTo(0.4 * paper, -0.5);
    const shaded = grayOf(shot(plainTag(255), { shade: 0.8 }, 4)).data;
    const open = grayOf(shot(plainTag(255), {}, 4)).data;
    const ratios = [...shaded]
      .map((value, index) => value / Math.max(1, open[index] ?? 0))
      .filter((_, index) => (open[index] ?? 0) > 200)
      .sort((a, b) => a - b);
    expect(ratios[0]).toBeLessThan(0.25);
    expect(ratios.at(-1)).toBeGreaterThan(0.95);
  });

  it('is of the asked size, with the tag about its middle', () => {
    const sizePx = { width: 900, height: 700 };
    const photo = shot(plainTag(255), { sizePx }, 4);
    expect(photo).toMatchObject(sizePx);
    const middle = photo.pixelOf(30, 15);
    // Of 300 by 150 pixels; its edges are moved by two fifths of the room around it at most.
    expect(Math.abs(middle.x - 450)).toBeLessThanOrEqual(0.4 * 300);
    expect(Math.abs(middle.y - 350)).toBeLessThanOrEqual(0.4 * 275);
  });

  it('adds noise of the asked standard deviation', () => {
    const clean = grayOf(shot(plainTag(128), { ground: 'bench' }));
    const noisy = grayOf(shot(plainTag(128), { ground: 'bench', noise: 0.05 }));
    const differences = [...noisy.data].map((value, index) => value - (clean.data[index] ?? 0));
    const sd = Math.sqrt(differences.reduce((sum, value) => sum + value * value, 0) / differences.length);
    // 0.05 of 255 in brightness is 12.75; colour adds 0.299 − 0.114 of two fifths of it: 12.79.
    expect(Math.abs(sd - 12.79)).toBeLessThan(0.5);
  });

  it('holds several tags, each where it was laid', () => {
    const second = { face: plainTag(0), facePxPerMm: 12, xMm: 0, yMm: 45, turnDeg: 0 };
    const photo = photograph([...lone(plainTag(255), 12), second], { ...NO_DAMAGE, noise: 0 }, 2);
    const { data, width } = grayOf(photo);
    const at = (xMm: number, yMm: number): number => {
      const { x, y } = photo.pixelOf(xMm, yMm);
      return data[Math.floor(y) * width + Math.floor(x)] ?? 0;
    };
    expect(at(30, 15)).toBeGreaterThan(200);
    expect(at(30, 60)).toBeLessThan(60);
  });

  it.each(['jpeg', 'png', 'webp'] as const)('is written as %s', async (format) => {
    const bytes = Buffer.from(await encodePhoto(shot(plainTag(255), {}), format));
    // The formats' own signatures.
    const signature = { jpeg: 'ffd8ff', png: '89504e470d0a1a0a', webp: '52494646' }[format];
    expect(bytes.toString('hex', 0, signature.length / 2)).toBe(signature);
  });
});

describe('the lens', () => {
  /** The spread of a single bright pixel, along each axis. */
  function spreadOf(blur: (point: Parameters<typeof blurGaussian>[0]) => ReturnType<typeof blurGaussian>): {
    total: number;
    sdX: number;
    sdY: number;
  } {
    const side = 61;
    const data = new Float32Array(side * side * 3);
    data[3 * (30 * side + 30)] = 1000;
    const { data: spread } = blur({ data, width: side, height: side });
    let [total, xx, yy] = [0, 0, 0];
    for (let y = 0; y < side; y++) {
      for (let x = 0; x < side; x++) {
        const value = spread[3 * (y * side + x)] ?? 0;
        total += value;
        xx += value * (x - 30) ** 2;
        yy += value * (y - 30) ** 2;
      }
    }
    return { total, sdX: Math.sqrt(xx / total), sdY: Math.sqrt(yy / total) };
  }

  it.each([1, 2, 4])('blurs to a standard deviation of %d px and loses no light', (sigma) => {
    const { total, sdX, sdY } = spreadOf((point) => blurGaussian(point, sigma));
    expect(total).toBeCloseTo(1000, 1);
    expect(Math.abs(sdX / sigma - 1)).toBeLessThan(0.03);
    expect(Math.abs(sdY / sigma - 1)).toBeLessThan(0.03);
  });

  it('smears along one direction only', () => {
    const { total, sdX, sdY } = spreadOf((point) => blurAlong(point, 12, 0));
    expect(total).toBeCloseTo(1000, 1);
    expect(sdY).toBe(0);
    // A line of 13 pixels has variance (13² − 1) / 12 = 14.
    expect(sdX).toBeCloseTo(Math.sqrt(14), 5);
  });
});
