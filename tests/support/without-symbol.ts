/** A tag whose symbol is gone, frame and all, as if it were scraped off: bare paper. */
import { QR_MARGIN_MODULES } from '../../src/codes/qr-block.js';
import type { WeatherTag } from '../bench/weather-tags.js';

/** Quiet zone and frame, and what a raster smears. */
const AROUND_MODULES = QR_MARGIN_MODULES + 0.3;

export function withoutSymbol(tag: WeatherTag): WeatherTag {
  const { face, facePxPerMm, symbolMm, moduleMm } = tag;
  const around = AROUND_MODULES * moduleMm;
  const px = (mm: number, most: number): number => Math.min(most, Math.max(0, Math.round(mm * facePxPerMm)));
  const [left, right] = [
    px(symbolMm.x - around, face.width),
    px(symbolMm.x + symbolMm.width + around, face.width),
  ];
  const [top, bottom] = [
    px(symbolMm.y - around, face.height),
    px(symbolMm.y + symbolMm.height + around, face.height),
  ];
  const data = face.data.slice();
  for (let y = top; y < bottom; y++) data.fill(255, y * face.width + left, y * face.width + right);
  return { ...tag, face: { ...face, data } };
}
