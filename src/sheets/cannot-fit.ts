/** What to say when a symbol does not fit a face: why, and what would. */

import { MM_PER_INCH } from '../codes/module-fit.js';
import type { QrLevel } from '../codes/qr.js';
import { InputError } from '../errors.js';
import { arrange } from './arrange.js';
import type { Needs } from './arrangement.js';
import type { Face } from './faces.js';
import { turnedSize } from './geometry.js';
import type { Stock, SymbolChoice } from './stock.js';

const USUAL_DPI = [203, 300, 600, 1200];
const NAMES: Readonly<Record<SymbolChoice, string>> = {
  qr: 'A QR code',
  code128: 'A Code 128',
  both: 'A QR code and a Code 128 together',
};

/** What the QR code would be at a lower level. */
export interface SmallerCode {
  readonly level: QrLevel;
  readonly modules: number;
}

/** The error for a face that `arrange` refused with these needs. */
export function cannotFit(
  stock: Stock,
  choice: SymbolChoice,
  face: Face,
  needs: Needs,
  smaller: readonly SmallerCode[],
): InputError {
  const room = turnedSize(face);
  const mm = (dots: number) => ((dots * MM_PER_INCH) / needs.dpi).toFixed(1);
  const least = [
    ...(needs.qrModules === null ? [] : [`${needs.leastMm.qr} mm (QR, ${needs.qrModules} modules)`]),
    ...(needs.code128Modules === null
      ? []
      : [`${needs.leastMm.code128} mm (Code 128, up to ${needs.code128Modules} modules)`]),
  ].join(' and ');
  return new InputError(
    'symbol-does-not-fit',
    `${NAMES[choice]}, with frame and ID, cannot be had on stock "${stock.name}": it leaves ` +
      `${mm(room.width)} × ${mm(room.height)} mm to print on, and at ${needs.dpi} dpi modules must be at least ${least}.`,
    `What fits: ${whatFits(room, choice, needs, smaller).join('; ')}.`,
  );
}

function whatFits(
  room: { width: number; height: number },
  choice: SymbolChoice,
  needs: Needs,
  smaller: readonly SmallerCode[],
): string[] {
  const fits: string[] = [];
  const dpi = USUAL_DPI.find((dpi) => {
    const scale = dpi / needs.dpi;
    const scaled = { width: Math.floor(room.width * scale), height: Math.floor(room.height * scale) };
    return dpi > needs.dpi && arrange(scaled, { ...needs, dpi }) !== null;
  });
  if (dpi !== undefined) fits.push(`a printer of ${dpi} dpi`);
  if (choice === 'both' && arrange(room, { ...needs, code128Modules: null }) !== null) {
    fits.push('the QR code alone (--symbol qr)');
  }
  if (choice === 'both' && arrange(room, { ...needs, qrModules: null }) !== null) {
    fits.push('the Code 128 alone (--symbol code128)');
  }
  if (choice === 'code128' && arrange(room, { ...needs, code128Modules: null, qrModules: 21 }) !== null) {
    fits.push('a QR code (--symbol qr)');
  }
  if (
    needs.qrModules !== null &&
    needs.qrModules > 21 &&
    arrange(room, { ...needs, qrModules: 21 }) !== null
  ) {
    fits.push('a QR code without a link');
  }
  const lower = smaller.find(({ modules }) => arrange(room, { ...needs, qrModules: modules }) !== null);
  if (lower !== undefined) fits.push(`this link at error correction level ${lower.level}`);
  return [...fits, 'a larger stock'];
}
