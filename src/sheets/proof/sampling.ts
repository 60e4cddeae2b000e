/** Picture values between pixels. Places are in pixels, a pixel's centre at half a pixel. */
import type { GrayPicture } from '../../scan/picture.js';

/** The grey level at a place, 0 to 255; beyond the edge the edge's own. */
export function levelAt({ data, width, height }: GrayPicture, x: number, y: number): number {
  const px = Math.min(width - 1.001, Math.max(0, x - 0.5));
  const py = Math.min(height - 1.001, Math.max(0, y - 0.5));
  const left = Math.floor(px);
  const top = Math.floor(py);
  const [fx, fy, at] = [px - left, py - top, top * width + left];
  const upper = (data[at] ?? 0) * (1 - fx) + (data[at + 1] ?? 0) * fx;
  const lower = (data[at + width] ?? 0) * (1 - fx) + (data[at + width + 1] ?? 0) * fx;
  return upper * (1 - fy) + lower * fy;
}

/** What the grey levels of a picture file say of reflected light, 0 to 1 (sRGB: IEC 61966-2-1). */
const LIGHT_OF_LEVEL = Float32Array.from({ length: 256 }, (_, level) => {
  const value = level / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
});

/** Reflected light at a place, 0 to 1 of the picture's full scale. */
export function lightAt({ data, width, height }: GrayPicture, x: number, y: number): number {
  const px = Math.min(width - 1.001, Math.max(0, x - 0.5));
  const py = Math.min(height - 1.001, Math.max(0, y - 0.5));
  const left = Math.floor(px);
  const top = Math.floor(py);
  const [fx, fy, at] = [px - left, py - top, top * width + left];
  const light = (index: number): number => LIGHT_OF_LEVEL[data[index] ?? 0] ?? 0;
  const upper = light(at) * (1 - fx) + light(at + 1) * fx;
  const lower = light(at + width) * (1 - fx) + light(at + width + 1) * fx;
  return upper * (1 - fy) + lower * fy;
}

/** Whether a place lies in the picture. */
export function isInside({ width, height }: GrayPicture, x: number, y: number): boolean {
  return x >= 0 && y >= 0 && x <= width && y <= height;
}

/** The part of a picture around a place, cut off at its edges, and where it begins. */
export function cutOut(
  { data, width, height }: GrayPicture,
  box: { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number },
): (GrayPicture & { readonly left: number; readonly top: number }) | null {
  const left = Math.max(0, Math.floor(box.left));
  const top = Math.max(0, Math.floor(box.top));
  const right = Math.min(width, Math.ceil(box.right));
  const bottom = Math.min(height, Math.ceil(box.bottom));
  if (right - left < 8 || bottom - top < 8) return null;
  const part = new Uint8Array((right - left) * (bottom - top));
  for (let row = top; row < bottom; row++) {
    part.set(data.subarray(row * width + left, row * width + right), (row - top) * (right - left));
  }
  return { data: part, width: right - left, height: bottom - top, left, top };
}
