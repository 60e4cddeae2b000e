/**
 * Where exactly a symbol lies on a drawn page: to a hundredth of a pixel, from how far its outermost
 * dark pixels are covered. Decoders give whole pixels, and of a Code 128 only the lines they read.
 */
import { code128Bars } from '../../codes/code128.js';
import { type BitMatrix, type QrLevel, qrModules } from '../../codes/qr.js';
import type { GrayPicture } from '../../scan/picture.js';
import type { Corners, Point } from '../../scan/point.js';
import type { Box, Turn } from '../geometry.js';
import type { SymbolKind } from '../stock.js';
import { finderCorners } from './symbols.js';

interface SymbolExtent {
  /** In pixels. */
  readonly box: Box;
  /** How the symbol's own top left to top right points, clockwise from the page's. */
  readonly turn: Turn;
  readonly modulePx: number;
  /** Error correction of a QR code, which the text alone does not tell; null for a Code 128. */
  readonly level: QrLevel | null;
}

/** So much of a QR code's modules must be as drawn, or it is of another level. */
const LEAST_ALIKE = 0.95;

/** Null where the picture has no symbol of these corners after all. */
export function symbolExtent(
  picture: GrayPicture,
  symbol: { readonly kind: SymbolKind; readonly text: string; readonly corners: Corners },
): SymbolExtent | null {
  const turn = turnOf(symbol.corners);
  if (symbol.kind === 'qr') {
    return qrExtent(picture, symbol.text, bounds(finderCorners(symbol.corners)), turn);
  }
  const rough = bounds(symbol.corners);
  const { modules } = code128Bars(symbol.text);
  const isUpright = turn === 90 || turn === 270;
  const box = barsBox(picture, rough, Math.max(rough.width, rough.height) / modules, isUpright);
  return box && { box, turn, modulePx: (isUpright ? box.height : box.width) / modules, level: null };
}

function qrExtent(picture: GrayPicture, text: string, rough: Box, turn: Turn): SymbolExtent | null {
  for (const level of ['H', 'Q', 'M', 'L'] as const) {
    const modules = qrModules(text, level);
    const box = qrBox(picture, rough, rough.width / modules.size);
    if (box !== null && shareAlike(picture, box, turn, modules) >= LEAST_ALIKE) {
      return { box, turn, modulePx: box.width / modules.size, level };
    }
  }
  return null;
}

/** The share of modules that are dark or light in the picture as they should be. */
function shareAlike({ data, width }: GrayPicture, box: Box, turn: Turn, modules: BitMatrix): number {
  const { size } = modules;
  const last = size - 1;
  const isUpright = turn === 90 || turn === 270;
  let alike = 0;
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      const [right, below] = isUpright ? [row, column] : [column, row];
      const across = turn === 90 || turn === 180 ? last - right : right;
      const down = turn === 180 || turn === 270 ? last - below : below;
      const x = Math.floor(box.x + ((across + 0.5) * box.width) / size);
      const y = Math.floor(box.y + ((down + 0.5) * box.height) / size);
      if (modules.dark(row, column) === (data[y * width + x] ?? 255) < 128) alike++;
    }
  }
  return alike / (size * size);
}

function turnOf([topLeft, topRight]: Corners): Turn {
  const angle = (Math.atan2(topRight.y - topLeft.y, topRight.x - topLeft.x) * 180) / Math.PI;
  return ((Math.round(angle / 90) * 90 + 360) % 360) as Turn;
}

function bounds(corners: readonly Point[]): Box {
  const xs = corners.map(({ x }) => x);
  const ys = corners.map(({ y }) => y);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
}

/** Outward from the rings of the finder patterns, of which every side has at least one at its ends. */
function qrBox(picture: GrayPicture, rough: Box, module: number): Box | null {
  const near = 0.5 * module;
  const middle = 3.5 * module;
  const [right, bottom] = [rough.x + rough.width, rough.y + rough.height];
  const gap = 1.5 * module;
  const side = (places: readonly (readonly [number, number])[], dx: number, dy: number): number | null => {
    const ends = places.flatMap(([x, y]) => darkEnd(picture, x, y, dx, dy, gap) ?? []);
    return ends.length === 0 ? null : dx + dy < 0 ? Math.min(...ends) : Math.max(...ends);
  };
  const [highY, lowY] = [rough.y + middle, bottom - middle];
  const [leftX, rightX] = [rough.x + middle, right - middle];
  return boxOf(
    side(
      [
        [rough.x + near, highY],
        [rough.x + near, lowY],
      ],
      -1,
      0,
    ),
    side(
      [
        [leftX, rough.y + near],
        [rightX, rough.y + near],
      ],
      0,
      -1,
    ),
    side(
      [
        [right - near, highY],
        [right - near, lowY],
      ],
      1,
      0,
    ),
    side(
      [
        [leftX, bottom - near],
        [rightX, bottom - near],
      ],
      0,
      1,
    ),
  );
}

/** Outward along the bars' middle to the quiet zones, then along the first bar to its ends. */
function barsBox(picture: GrayPicture, rough: Box, module: number, isUpright: boolean): Box | null {
  // No space within the symbol is wider than four modules (ISO/IEC 15417).
  const gap = 6 * module;
  const middle = { x: rough.x + rough.width / 2, y: rough.y + rough.height / 2 };
  const [ax, ay] = isUpright ? [0, 1] : [1, 0];
  const start = darkEnd(picture, middle.x, middle.y, -ax, -ay, gap);
  const end = darkEnd(picture, middle.x, middle.y, ax, ay, gap);
  if (start === null || end === null) return null;
  const bar = isUpright ? { x: middle.x, y: start + module } : { x: start + module, y: middle.y };
  const before = darkEnd(picture, bar.x, bar.y, -ay, -ax, module / 2);
  const after = darkEnd(picture, bar.x, bar.y, ay, ax, module / 2);
  return isUpright ? boxOf(before, start, after, end) : boxOf(start, before, end, after);
}

function boxOf(
  left: number | null,
  top: number | null,
  right: number | null,
  bottom: number | null,
): Box | null {
  if (left === null || top === null || right === null || bottom === null) return null;
  return { x: left, y: top, width: right - left, height: bottom - top };
}

/**
 * Walks from a place along one axis and gives the coordinate where the last dark pixel ends before a
 * light stretch longer than `gapPx`; null when nothing dark is met.
 */
function darkEnd(
  { data, width, height }: GrayPicture,
  x: number,
  y: number,
  dx: number,
  dy: number,
  gapPx: number,
): number | null {
  const [startX, startY] = [Math.floor(x), Math.floor(y)];
  const darkness = (step: number): number => {
    const [px, py] = [startX + step * dx, startY + step * dy];
    if (px < 0 || py < 0 || px >= width || py >= height) return 0;
    return 1 - (data[py * width + px] ?? 255) / 255;
  };
  let last: number | null = null;
  for (let step = 0; step - (last ?? 0) <= gapPx + 1; step++) if (darkness(step) >= 0.5) last = step;
  if (last === null) return null;
  const direction = dx + dy;
  const inner = (dx === 0 ? startY : startX) + last * direction + (direction < 0 ? 1 : 0);
  return inner + direction * (darkness(last) + darkness(last + 1));
}
