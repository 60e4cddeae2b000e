/** Which modules of a QR code hold which codeword, for the versions and the level that tags use. */

/** Of a version at level H: codewords in all, of them for error correction, and blocks they are split in. */
interface VersionForm {
  readonly codewords: number;
  readonly correction: number;
  readonly blocks: number;
}

/** Versions 1 to 4 at level H (ISO/IEC 18004, tables 7 and 9; the split in blocks from memory). */
const LEVEL_H: readonly VersionForm[] = [
  { codewords: 26, correction: 17, blocks: 1 },
  { codewords: 44, correction: 28, blocks: 1 },
  { codewords: 70, correction: 44, blocks: 2 },
  { codewords: 100, correction: 64, blocks: 4 },
];

export interface QrLayout {
  /** For each codeword its eight modules as `row * size + column`, the highest bit first. */
  readonly codewords: readonly (readonly number[])[];
  readonly blocks: number;
  /** Wrong codewords that a block repairs. */
  readonly repairs: number;
}

/** Null for a version above 4. */
export function qrLayout(size: number): QrLayout | null {
  const form = LEVEL_H[(size - 21) / 4];
  if (form === undefined) return null;
  const codewords: number[][] = Array.from({ length: form.codewords }, () => []);
  let bit = 0;
  for (const module of dataModules(size)) codewords[bit++ >> 3]?.push(module);
  return { codewords, blocks: form.blocks, repairs: Math.floor(form.correction / form.blocks / 2) };
}

/** Up and down in columns of two from the right, leaving out what is no data (ISO/IEC 18004, 7.7.3). */
function* dataModules(size: number): Generator<number> {
  let isUp = true;
  for (let right = size - 1; right > 0; right -= 2) {
    if (right === 6) right = 5; // The column of the timing pattern.
    for (let step = 0; step < size; step++) {
      const row = isUp ? size - 1 - step : step;
      for (const column of [right, right - 1]) {
        if (!isFunction(row, column, size)) yield row * size + column;
      }
    }
    isUp = !isUp;
  }
}

/** Finder patterns with their separators and the format information, timing, alignment pattern. */
function isFunction(row: number, column: number, size: number): boolean {
  if (row === 6 || column === 6) return true;
  const isTop = row <= 8;
  const isLeft = column <= 8;
  if ((isTop && (isLeft || column >= size - 8)) || (row >= size - 8 && isLeft)) return true;
  if (size === 21) return false;
  const middle = size - 7;
  return Math.abs(row - middle) <= 2 && Math.abs(column - middle) <= 2;
}

/** The fixed pattern a module belongs to, of those with quiet zone and separator; null for data. */
type FixedPattern = 'top left' | 'top right' | 'bottom left' | 'timing';

/** @param row may be outside the symbol by the quiet zone's four modules, like `column` */
export function fixedPattern(row: number, column: number, size: number): FixedPattern | null {
  if (row < 8 && column < 8) return 'top left';
  if (row < 8 && column >= size - 8) return 'top right';
  if (row >= size - 8 && column < 8) return 'bottom left';
  const isWithin = row >= 0 && column >= 0 && row < size && column < size;
  return isWithin && (row === 6 || column === 6) ? 'timing' : null;
}
