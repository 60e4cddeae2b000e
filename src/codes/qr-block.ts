/**
 * The frame around a QR code, by which the picture of a damaged tag is squared up. Its geometry in
 * modules is the same on every stock, so it must not change.
 */
import { QR_QUIET_MODULES } from './qr.js';

/** The line around a QR code is one module thick, its inner edge at the edge of the quiet zone. */
export const QR_FRAME_MODULES = 1;

/** From the block's edge to the symbol's first module. */
export const QR_MARGIN_MODULES = QR_FRAME_MODULES + QR_QUIET_MODULES;

/** Modules on a side of a QR code's block: 31 for a version 1 symbol. */
export function qrBlockModules(symbolModules: number): number {
  return symbolModules + 2 * QR_MARGIN_MODULES;
}
