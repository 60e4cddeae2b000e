/** A face with a QR code and text, or what a Code 128 has left of one. */
import { dotsAtLeast, fitModule } from '../codes/module-fit.js';
import { qrBlockModules } from '../codes/qr-block.js';
import { below, textColumn, textOnly } from './arrange-text.js';
import {
  type Arrangement,
  CLEARLY_LONGER,
  COPY_CAP_MM,
  COPY_TO_ID,
  clamp,
  dotsFor,
  gapDots,
  ID_CAP_MM,
  type Needs,
  type Room,
} from './arrangement.js';

/**
 * A module of this size is read at ease even when the tag is dirty, and what is left is worth more to the
 * text: a version 1 code of it is 19 mm wide and read from 19 cm (ten times the width, common practice), and
 * it is 1.8 times the 0.5 mm that is enough outdoors.
 */
const QR_COMFORTABLE_MM = 0.9;

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

/** Small ID upright along the left edge or under the QR code, QR code, text column. */
function sideBySide(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const dots = dotsFor(needs.dpi);
  const modules = qrBlockModules(qrModules);
  const fit = fitModule(modules, room.height, dotsAtLeast(needs.leastMm.qr, needs.dpi));
  if (fit.kind === 'too small') return null;
  const fittingDots = fit.moduleDots;
  const gap = gapDots(room, needs.dpi);
  const copyCap = clamp(
    Math.round(COPY_OF_HEIGHT * room.height),
    dots(COPY_CAP_MM.least),
    dots(COPY_CAP_MM.largest),
  );
  const spine = copyCap + Math.round(COPY_GAP * gap);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  const largest = largestModule(fittingDots, needs);
  // Where the code leaves room under it, the second ID needs none beside it.
  const indents = copyCapUnder(room, modules * largest, gap, needs) > 0 ? [0] : [spine, 0];
  for (const indent of indents) {
    for (let module = largest; module >= least; module--) {
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
    const underCap = indent === 0 ? copyCapUnder(room, side, gap, needs) : 0;
    const isCapped = module === largest && largest < fittingDots;
    const height = isCapped ? room.height : side + (underCap === 0 ? 0 : gap + underCap);
    const top = Math.round((room.height - height) / 2);
    const x = indent + side + gap;
    const column = { x, y: top, width: room.width - x, height };
    const spineBox = { x: 0, y: top, width: copyCap, height: side };
    const underBox = { x: 0, y: top + height - underCap, width: side, height: underCap };
    return {
      symbols: [{ kind: 'qr', x: indent, y: top, moduleDots: module, acrossDots: side, turn: 0 }],
      copy:
        indent > 0
          ? { box: spineBox, turn: 270, align: 'left' }
          : underCap > 0
            ? { box: underBox, turn: 0, align: 'left' }
            : null,
      ...textColumn(column, needs),
    };
  }
}

/** The largest module that a code is given where one of `fittingDots` would fit. */
function largestModule(fittingDots: number, needs: Needs): number {
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  return Math.min(fittingDots, Math.max(least, dotsAtLeast(QR_COMFORTABLE_MM, needs.dpi)));
}

/** Height of a second ID under the code, smaller than the one beside it; 0 where there is no room. */
function copyCapUnder(room: Room, side: number, gap: number, needs: Needs): number {
  const dots = dotsFor(needs.dpi);
  const idCap = (room.width - side - gap) / needs.idAspect;
  const cap = Math.floor(Math.min(room.height - side - gap, COPY_TO_ID * idCap, dots(COPY_CAP_MM.largest)));
  return cap < dots(COPY_CAP_MM.least) ? 0 : cap;
}

/** QR code on top, then the ID, the lines, and the second ID at the foot. */
function stacked(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const modules = qrBlockModules(qrModules);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  const sideRoom = Math.min(room.width, Math.max(CODE_OF_HEIGHT * room.height, least * modules));
  const fit = fitModule(modules, sideRoom, least);
  if (fit.kind === 'too small') return null;
  const moduleDots = largestModule(fit.moduleDots, needs);
  const side = modules * moduleDots;
  const x = Math.round((room.width - side) / 2);
  const text = below({ x: 0, y: 0, ...room }, side, gapDots(room, needs.dpi), needs);
  if (text === null) return null;
  return {
    symbols: [{ kind: 'qr', x, y: 0, moduleDots, acrossDots: side, turn: 0 }],
    ...text,
  };
}
