/**
 * A QR code in a terminal: two modules in each character, light ones drawn, since most terminals are dark.
 */
import type { BitMatrix } from '../codes/qr.js';
import { QR_QUIET_MODULES } from '../codes/qr-block.js';

/** Lines of text with the quiet zone around. */
export function qrInText(modules: BitMatrix): string {
  const from = -QR_QUIET_MODULES;
  const to = modules.size + QR_QUIET_MODULES;
  const lines: string[] = [];
  for (let row = from; row < to; row += 2) {
    let line = '';
    for (let column = from; column < to; column++) {
      const [upper, lower] = [!modules.dark(row, column), row + 1 < to && !modules.dark(row + 1, column)];
      line += upper ? (lower ? '█' : '▀') : lower ? '▄' : ' ';
    }
    lines.push(line);
  }
  return lines.join('\n');
}
