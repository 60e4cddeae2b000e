/** Grey pictures of floating-point levels, for measuring between pixels. */
import type { ColourPicture } from '../picture.js';

/** Row by row from the top; pixel (x, y) has its centre at x, y. */
export interface Plane {
  readonly data: Float32Array;
  readonly width: number;
  readonly height: number;
}

/** A picture as the reader takes it: brightness, and what it takes to tell mud and leaves from ink. */
export interface ColourPlanes {
  readonly gray: Plane;
  /** Red less blue; null for a picture without colours, as `green` is. */
  readonly warm: Plane | null;
  /** Green less the mean of red and blue. */
  readonly green: Plane | null;
}

/**
 * Of a picture halved so often: each pixel is the mean of those that it stands for, and a point p of the picture
 * comes to (p + 0.5) / 2 ** halvings - 0.5. A picture in which red, green and blue are alike everywhere has no colour.
 */
export function colourPlanes({ data, width, height }: ColourPicture, halvings = 0): ColourPlanes {
  const side = 2 ** halvings;
  const [w, h] = [width >> halvings, height >> halvings];
  const plane = () => ({ data: new Float32Array(w * h), width: w, height: h });
  const [gray, warm, green] = [plane(), plane(), plane()];
  let isGray = true;
  for (let pixel = 0; pixel < w * h; pixel++) {
    const [left, top] = [(pixel % w) * side, Math.floor(pixel / w) * side];
    let [r, g, b] = [0, 0, 0];
    for (let y = top; y < top + side; y++) {
      for (let at = 3 * (y * width + left), end = at + 3 * side; at < end; at += 3) {
        r += data[at] as number;
        g += data[at + 1] as number;
        b += data[at + 2] as number;
        isGray &&= data[at] === data[at + 1] && data[at] === data[at + 2];
      }
    }
    // The weights of ITU-R BT.601.
    gray.data[pixel] = (0.299 * r + 0.587 * g + 0.114 * b) / (side * side);
    warm.data[pixel] = (r - b) / (side * side);
    green.data[pixel] = (g - (r + b) / 2) / (side * side);
  }
  return isGray ? { gray, warm: null, green: null } : { gray, warm, green };
}

/** Half as wide and high, each pixel the mean of four. A point p of the plane comes to (p - 0.5) / 2. */
export function halved({ data, width, height }: Plane): Plane {
  const [w, h] = [width >> 1, height >> 1];
  const result = new Float32Array(w * h);
  for (let y = 0, to = 0; y < h; y++) {
    for (let x = 0, at = 2 * y * width; x < w; x++, at += 2, to++) {
      const upper = (data[at] as number) + (data[at + 1] as number);
      const lower = (data[at + width] as number) + (data[at + width + 1] as number);
      result[to] = (upper + lower) / 4;
    }
  }
  return { data: result, width: w, height: h };
}

export function halvedPlanes({ gray, warm, green }: ColourPlanes): ColourPlanes {
  return {
    gray: halved(gray),
    warm: warm === null ? null : halved(warm),
    green: green === null ? null : halved(green),
  };
}

/** Gaussian blur; the edge pixels go on beyond the edge. */
export function smoothed({ data, width, height }: Plane, sigmaPx: number): Plane {
  const reach = Math.max(1, Math.ceil(3 * sigmaPx));
  const taps = Float64Array.from({ length: 2 * reach + 1 }, (_, tap) =>
    Math.exp(-((tap - reach) ** 2) / (2 * sigmaPx * sigmaPx)),
  );
  const total = taps.reduce((sum, tap) => sum + tap, 0);
  const weights = taps.map((tap) => tap / total);
  // Tap by tap, a whole row at once: pixel by pixel each sum would wait for its own last addition, and
  // column by column would jump through memory.
  const across = new Float32Array(data.length);
  const line = new Float32Array(width + 2 * reach);
  const sums = new Float64Array(width);
  for (let start = 0; start < data.length; start += width) {
    line.fill(data[start] as number, 0, reach);
    line.set(data.subarray(start, start + width), reach);
    line.fill(data[start + width - 1] as number, reach + width);
    sums.fill(0);
    weights.forEach((weight, tap) => {
      addRow(sums, line, tap, weight);
    });
    across.set(sums, start);
  }
  const result = new Float32Array(data.length);
  for (let y = 0; y < height; y++) {
    sums.fill(0);
    weights.forEach((weight, tap) => {
      addRow(sums, across, Math.min(height - 1, Math.max(0, y + tap - reach)) * width, weight);
    });
    result.set(sums, y * width);
  }
  return { data: result, width, height };
}

/** Adds `weight` times as many levels from `start` on. */
function addRow(sums: Float64Array, levels: Float32Array, start: number, weight: number): void {
  for (let x = 0; x < sums.length; x++) {
    sums[x] = (sums[x] as number) + weight * (levels[start + x] as number);
  }
}

/** The level at a point, between pixels; beyond the picture, of two by two pixels at least, its edge goes on. */
export function levelAt({ data, width, height }: Plane, x: number, y: number): number {
  const cx = Math.min(Math.max(x, 0), width - 1.001);
  const cy = Math.min(Math.max(y, 0), height - 1.001);
  const [left, top] = [cx | 0, cy | 0];
  const [fx, fy, at] = [cx - left, cy - top, top * width + left];
  const a = data[at] as number;
  const c = data[at + width] as number;
  const upper = a + ((data[at + 1] as number) - a) * fx;
  const lower = c + ((data[at + width + 1] as number) - c) * fx;
  return upper + (lower - upper) * fy;
}
