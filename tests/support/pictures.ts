/** Pictures put together from pictures. */

interface Picture {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
}

/** Red, green, blue; what the lower one leaves open is grey. */
export function sideBySide(left: Picture, right: Picture): Picture {
  const [width, height] = [left.width + right.width, Math.max(left.height, right.height)];
  const data = new Uint8Array(width * height * 3).fill(120);
  for (const [picture, x] of [
    [left, 0],
    [right, left.width],
  ] as const) {
    for (let y = 0; y < picture.height; y++) {
      const row = picture.data.subarray(y * picture.width * 3, (y + 1) * picture.width * 3);
      data.set(row, (y * width + x) * 3);
    }
  }
  return { data, width, height };
}
