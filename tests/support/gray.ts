/** A grey picture as a photo file holds it: red, green and blue alike. */
import type { ColourPicture, GrayPicture } from '../../src/scan/picture.js';

export const inGray = ({ data, width, height }: GrayPicture): ColourPicture => ({
  data: Uint8Array.from({ length: 3 * width * height }, (_, at) => data[Math.floor(at / 3)] as number),
  width,
  height,
});
