/** Lens and sensor: blur, shake and noise on a picture of interleaved red, green and blue levels. */
import type { Random } from './random.js';

export interface Levels {
  /** Three values a pixel, nominally 0 to 255. */
  readonly data: Float32Array;
  readonly width: number;
  readonly height: number;
}

/** Gaussian blur, cut off where the weight falls below a hundredth; the edge pixels are repeated outward. */
export function blurGaussian(picture: Levels, sigmaPx: number): Levels {
  if (sigmaPx <= 0) return picture;
  const reach = Math.max(1, Math.floor(3.03 * sigmaPx));
  const taps = Array.from({ length: 2 * reach + 1 }, (_, tap) =>
    Math.exp(-((tap - reach) ** 2) / (2 * sigmaPx ** 2)),
  );
  const offsets = taps.map((_, tap) => tap - reach);
  const across = gathered(
    picture,
    offsets.map((dx) => ({ dx, dy: 0 })),
    taps,
  );
  return gathered(
    across,
    offsets.map((dy) => ({ dx: 0, dy })),
    taps,
  );
}

/** The smear of a hand that moved in a straight line while the shutter was open. */
export function blurAlong(picture: Levels, lengthPx: number, directionRad: number): Levels {
  if (lengthPx <= 0) return picture;
  const steps = Math.max(2, Math.ceil(lengthPx) + 1);
  const path = Array.from({ length: steps }, (_, step) => {
    const along = (step / (steps - 1) - 0.5) * lengthPx;
    return { dx: Math.round(along * Math.cos(directionRad)), dy: Math.round(along * Math.sin(directionRad)) };
  });
  return gathered(
    picture,
    path,
    path.map(() => 1),
  );
}

/** Every pixel becomes the weighted mean of the pixels at the given offsets from it. */
function gathered(
  { data, width, height }: Levels,
  offsets: readonly { readonly dx: number; readonly dy: number }[],
  weights: readonly number[],
): Levels {
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const result = new Float32Array(data.length);
  for (const [tap, { dx, dy }] of offsets.entries()) {
    const weight = (weights[tap] as number) / total;
    // The columns whose source lies inside the picture; those beyond repeat the edge.
    const from = Math.min(width, Math.max(0, -dx));
    const to = Math.max(from, Math.min(width, width - dx));
    for (let y = 0; y < height; y++) {
      const source = Math.min(height - 1, Math.max(0, y + dy)) * width;
      const target = y * width;
      for (let x = 0; x < from; x++) addPixel(result, target + x, data, source, weight);
      const end = 3 * (target + to);
      const shift = 3 * (source + dx - target);
      for (let at = 3 * (target + from); at < end; at++) {
        result[at] = (result[at] as number) + weight * (data[at + shift] as number);
      }
      for (let x = to; x < width; x++) addPixel(result, target + x, data, source + width - 1, weight);
    }
  }
  return { data: result, width, height };
}

function addPixel(result: Float32Array, to: number, data: Float32Array, from: number, weight: number): void {
  for (let channel = 0; channel < 3; channel++) {
    const at = 3 * to + channel;
    result[at] = (result[at] as number) + weight * (data[3 * from + channel] as number);
  }
}

const NORMALS = 1 << 14;

/**
 * Rounds to bytes with sensor noise: normal, standard deviation `noise` of full scale in brightness and
 * two fifths of that in colour.
 */
export function exposed({ data, width, height }: Levels, noise: number, random: Random): Uint8Array {
  const normals = Float32Array.from({ length: NORMALS }, () => random.normal());
  const normal = (): number => normals[(random.next() * NORMALS) | 0] as number;
  const bytes = new Uint8ClampedArray(width * height * 3);
  const [brightness, colour] = [255 * noise, 102 * noise];
  for (let at = 0; at < bytes.length; at += 3) {
    const common = noise > 0 ? brightness * normal() : 0;
    const warm = noise > 0 ? colour * normal() : 0;
    bytes[at] = (data[at] as number) + common + warm;
    bytes[at + 1] = (data[at + 1] as number) + common;
    bytes[at + 2] = (data[at + 2] as number) + common - warm;
  }
  return new Uint8Array(bytes.buffer);
}
