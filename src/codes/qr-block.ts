/**
 * The frame around a QR code, by which the picture of a damaged tag is squared up. Its geometry in
 * modules is the same on every stock, so it must not change.
 */

/** Modules on a side of a tag's symbol, version 1 (ISO/IEC 18004, 5.3.1). */
export const TAG_QR_SIZE = 21;

/** Light modules around the symbol (ISO/IEC 18004, 9.1). */
export const QR_QUIET_MODULES = 4;

/** The line around a QR code is one module thick, its inner edge at the edge of the quiet zone. */
export const QR_FRAME_MODULES = 1;

/** From the block's edge to the symbol's first module. */
export const QR_MARGIN_MODULES = QR_FRAME_MODULES + QR_QUIET_MODULES;

/** Modules on a side of a QR code's block: 31 for a version 1 symbol. */
export function qrBlockModules(symbolModules: number): number {
  return symbolModules + 2 * QR_MARGIN_MODULES;
}
