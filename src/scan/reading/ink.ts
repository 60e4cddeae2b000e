/** What is printed in a picture: dark against what is around it, whatever the light; and its connected patches. */
import type { Plane } from './plane.js';

/** The surroundings of a pixel reach so far to each side. */
const REACH_PX = 18;
/**
 * Ink is darker than the mean of its surroundings by so many standard deviations, where there is any spread: enough
 * that mud that touches a character is left out.
 */
const INK_DEVIATIONS = 0.9;
const LEAST_SPREAD = 6;

/** Per pixel whether it is ink, and the level of the paper about it. */
export function inkOf({ data, width, height }: Plane): { ink: Uint8Array; paper: Float32Array } {
  const [sums, squares] = [integral(data, width, height, false), integral(data, width, height, true)];
  const ink = new Uint8Array(data.length);
  const paper = new Float32Array(data.length);
  for (let y = 0, at = 0; y < height; y++) {
    const [top, bottom] = [Math.max(0, y - REACH_PX), Math.min(height, y + REACH_PX + 1)];
    const [above, below] = [top * (width + 1), bottom * (width + 1)];
    for (let x = 0; x < width; x++, at++) {
      const left = x < REACH_PX ? 0 : x - REACH_PX;
      const right = x + REACH_PX < width ? x + REACH_PX + 1 : width;
      const count = (right - left) * (bottom - top);
      const mean = within(sums, above, below, left, right) / count;
      const variance = within(squares, above, below, left, right) / count - mean * mean;
      const spread = Math.sqrt(Math.max(0, variance));
      paper[at] = mean + spread;
      ink[at] = Number(spread > LEAST_SPREAD && (data[at] as number) < mean - INK_DEVIATIONS * spread);
    }
  }
  return { ink, paper };
}

/** Sums of the levels, or of their squares, above and left of each corner of a pixel. */
function integral(data: Float32Array, width: number, height: number, isSquared: boolean): Float64Array {
  const sums = new Float64Array((width + 1) * (height + 1));
  for (let y = 0, from = 0, at = width + 2; y < height; y++, at++) {
    let line = 0;
    for (let x = 0; x < width; x++, from++, at++) {
      const level = data[from] as number;
      line += isSquared ? level * level : level;
      sums[at] = (sums[at - width - 1] as number) + line;
    }
  }
  return sums;
}

/** The sum over a rectangle; `above` and `below` are where the sums of its upper and lower edge begin. */
function within(sums: Float64Array, above: number, below: number, left: number, right: number): number {
  return (
    (sums[below + right] as number) -
    (sums[below + left] as number) -
    (sums[above + right] as number) +
    (sums[above + left] as number)
  );
}

/** The pixels of each connected patch, also by corners alone. */
export function patchesOf(ink: Uint8Array, width: number, height: number): number[][] {
  const left = ink.slice();
  const patches: number[][] = [];
  for (let seed = 0; seed < left.length; seed++) {
    if (left[seed] === 0) continue;
    left[seed] = 0;
    const pixels = [seed];
    for (const at of pixels) {
      const [x, y] = [at % width, Math.floor(at / width)];
      for (let ny = Math.max(0, y - 1); ny <= Math.min(height - 1, y + 1); ny++) {
        for (let nx = Math.max(0, x - 1); nx <= Math.min(width - 1, x + 1); nx++) {
          const next = ny * width + nx;
          if (left[next] === 0) continue;
          left[next] = 0;
          pixels.push(next);
        }
      }
    }
    patches.push(pixels);
  }
  return patches;
}
