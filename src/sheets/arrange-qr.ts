/** A face with a QR code and text, or what a Code 128 has left of one. */
import { dotsAtLeast, fitModule } from '../codes/module-fit.js';
import { below, textColumn, textOnly } from './arrange-text.js';
import {
  type Arrangement,
  CLEARLY_LONGER,
  COPY_CAP_MM,
  clamp,
  dotsFor,
  gapDots,
  ID_CAP_MM,
  type Needs,
  type Room,
} from './arrangement.js';
import { qrBlockModules } from './symbol-blocks.js';

// Proportions, chosen by eye on rasterised sheets of every shipped stock.

/** The text column is at least this much wider than the code, so that the ID dominates. */
const COLUMN_TO_CODE = 1.1;
/** Of a tall face's height the code takes at most this, unless its least module needs more. */
const CODE_OF_HEIGHT = 0.54;
/** The second ID along the left edge: its height, and its distance from the code to the other gaps. */
const COPY_OF_HEIGHT = 0.09;
const COPY_GAP = 0.75;

/** QR code and text, or text alone. */
export function arrangeQr(room: Room, needs: Needs): Arrangement | null {
  if (needs.qrModules === null) return textOnly(room, needs);
  const wide = room.width >= CLEARLY_LONGER * room.height;
  const ways = wide ? [sideBySide, stacked] : [stacked, sideBySide];
  for (const way of ways) {
    const arrangement = way(room, needs, needs.qrModules);
    if (arrangement !== null) return arrangement;
  }
  return null;
}

/** Small ID upright along the left edge, QR code, text column. */
function sideBySide(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const dots = dotsFor(needs.dpi);
  const modules = qrBlockModules(qrModules);
  const fit = fitModule(modules, room.height, dotsAtLeast(needs.leastMm.qr, needs.dpi));
  if (fit.kind === 'too small') return null;
  const gap = gapDots(room, needs.dpi);
  const copyCap = clamp(
    Math.round(COPY_OF_HEIGHT * room.height),
    dots(COPY_CAP_MM.least),
    dots(COPY_CAP_MM.largest),
  );
  const spine = copyCap + Math.round(COPY_GAP * gap);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  for (const indent of [spine, 0]) {
    for (let module = fit.moduleDots; module >= least; module--) {
      const side = modules * module;
      const column = room.width - indent - side - gap;
      if (column < Math.max(dots(ID_CAP_MM.readable) * needs.idAspect, COLUMN_TO_CODE * side)) continue;
      return place(indent, module);
    }
  }
  const tight = room.width - modules * least - gap >= dots(ID_CAP_MM.least) * needs.idAspect;
  return tight ? place(0, least) : null;

  function place(indent: number, module: number): Arrangement {
    const side = modules * module;
    const top = Math.round((room.height - side) / 2);
    const x = indent + side + gap;
    const column = { x, y: top, width: room.width - x, height: side };
    return {
      symbols: [{ kind: 'qr', x: indent, y: top, moduleDots: module, acrossDots: side, turn: 0 }],
      copy:
        indent === 0
          ? null
          : { box: { x: 0, y: top, width: copyCap, height: side }, turn: 270, align: 'left' },
      ...textColumn(column, needs),
    };
  }
}

/** QR code on top, then the ID, the lines, and the second ID at the foot. */
function stacked(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const modules = qrBlockModules(qrModules);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  const sideRoom = Math.min(room.width, Math.max(CODE_OF_HEIGHT * room.height, least * modules));
  const fit = fitModule(modules, sideRoom, least);
  if (fit.kind === 'too small') return null;
  const side = modules * fit.moduleDots;
  const x = Math.round((room.width - side) / 2);
  const text = below({ x: 0, y: 0, ...room }, side, gapDots(room, needs.dpi), needs);
  if (text === null) return null;
  return {
    symbols: [{ kind: 'qr', x, y: 0, moduleDots: fit.moduleDots, acrossDots: side, turn: 0 }],
    ...text,
  };
}
