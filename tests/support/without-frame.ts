/**
 * A tag whose frame nobody sees: from the middle of the quiet zone outward all is speckled, each module's width light
 * or dark by lot.
 */
import type { WeatherTag } from '../bench/weather-tags.js';
import type { Random } from './random.js';

/** Around the symbol; the frame begins four modules out and is one wide. */
const FROM_MODULES = 2;
const TO_MODULES = 7;

export function withoutFrame(tag: WeatherTag, random: Random): WeatherTag {
  const { face, facePxPerMm, symbolMm, moduleMm } = tag;
  const data = face.data.slice();
  const speckles = Array.from({ length: 64 * 64 }, () => 255 * random.below(2));
  const half = symbolMm.width / 2;
  const inModules = (px: number, middleMm: number): number => (px / facePxPerMm - middleMm) / moduleMm;
  for (let y = 0; y < face.height; y++) {
    const down = inModules(y + 0.5, symbolMm.y + half);
    for (let x = 0; x < face.width; x++) {
      const right = inModules(x + 0.5, symbolMm.x + half);
      const outside = Math.max(Math.abs(down), Math.abs(right)) - half / moduleMm;
      if (outside < FROM_MODULES || outside > TO_MODULES) continue;
      data[y * face.width + x] = speckles[64 * Math.floor(down + 32) + Math.floor(right + 32)] as number;
    }
  }
  return { ...tag, face: { ...face, data } };
}
