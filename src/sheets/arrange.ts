/**
 * Where symbols and text go on a face: pure geometry in whole dots from the face's top left.
 *
 * Wide faces have the code at the left and text beside it, tall ones the code on top and text below.
 * A Code 128 lies along the longer side. The ID hangs from the upper edge of the code's block and
 * the lines stand on its lower edge, or on the face's where the code is large enough with less than its
 * height, their descenders in the cell's safe inset. The second, small copy
 * of the ID is put where the code or the lines lie between it and the large one, so that one smear does
 * not take both.
 */
import { dotsAtLeast, dotsWithin } from '../codes/module-fit.js';
import { arrangeQr } from './arrange-qr.js';
import { textColumn } from './arrange-text.js';
import {
  type Arrangement,
  CLEARLY_LONGER,
  COPY_CAP_MM,
  dotsFor,
  gapDots,
  type Needs,
  type Room,
  type TextPlace,
} from './arrangement.js';
import type { Box } from './geometry.js';
import { type Code128Block, code128Block } from './symbol-blocks.js';

/** Code 128 gains nothing for a hand scanner beyond this module, and the ID needs the room. */
const CODE128_LARGEST_MM = 0.5;
/** A module that hand scanners and phones read at ease: below it a second way of placing is tried. */
const CODE128_EASY_MM = 0.33;
/** A face this much higher than wide has the bars along its right edge, where they can be wider. */
const STRIP_UPRIGHT = { alone: 1.25, withQr: CLEARLY_LONGER };
/** Narrower than this, upright lines hold too little beside a Code 128 that runs along the edge. */
const STRIP_BESIDE_MM = 25;

// Proportions, chosen by eye on rasterised sheets of every shipped stock.

/** What a strip of bars may take of a face's shorter side: less first, more if all else fails. */
const STRIP_SHARES = [0.5, 0.65, 0.78];
/** What bars across a narrow stake may take of its length. */
const STAKE_SHARES = { wanted: 0.42, most: 0.6 };
/** From which aspect both symbols stand side by side, and how much of the text column is bars then. */
const UNDER_TEXT = { fromAspect: 1.6, ofColumn: 0.4 };

/** Arranges a face; null when the symbols at their least modules leave no room for a legible ID. */
export function arrange(room: Room, needs: Needs): Arrangement | null {
  if (needs.code128Modules === null) return arrangeQr(room, needs);
  if (needs.qrModules !== null) {
    const beside = code128UnderText(room, needs);
    if (beside !== null) return beside;
  }
  return withCode128(room, needs, needs.code128Modules);
}

/** A Code 128 along the longer side; what is left goes to the rest. */
function withCode128(room: Room, needs: Needs, modules: number): Arrangement | null {
  const uprightFrom = needs.qrModules === null ? STRIP_UPRIGHT.alone : STRIP_UPRIGHT.withQr;
  const isTall = room.height >= uprightFrom * room.width;
  const isNarrow = room.width < dotsFor(needs.dpi)(STRIP_BESIDE_MM);
  return isTall && isNarrow
    ? aboveBarsAcross(room, needs, modules)
    : besideStrip(room, needs, modules, isTall);
}

/** On a stake: bars across its whole width at the foot, running along it. */
function aboveBarsAcross(room: Room, needs: Needs, modules: number): Arrangement | null {
  const block =
    largestCode128(modules, STAKE_SHARES.wanted * room.height, needs) ??
    largestCode128(modules, STAKE_SHARES.most * room.height, needs);
  if (block === undefined || block.leastDots > room.width) return null;
  const { moduleDots, alongDots } = block;
  const y = room.height - alongDots;
  const inner = arrangeQr({ width: room.width, height: y - gapDots(room, needs.dpi) }, withoutCode128(needs));
  if (inner === null) return null;
  const bars = { kind: 'code128', x: 0, y, moduleDots, acrossDots: room.width, turn: 90 } as const;
  return { ...inner, symbols: [...inner.symbols, bars] };
}

/** A strip of bars along the lower edge, or of a tall face the right one; the largest that lets the rest fit. */
function besideStrip(room: Room, needs: Needs, modules: number, isTall: boolean): Arrangement | null {
  const gap = gapDots(room, needs.dpi);
  const [along, across] = isTall ? [room.height, room.width] : [room.width, room.height];
  for (const share of STRIP_SHARES) {
    for (const { moduleDots, alongDots, wantedDots, leastDots } of code128Blocks(modules, along, needs)) {
      const acrossDots = Math.min(wantedDots, Math.floor(share * across));
      if (acrossDots < leastDots) continue;
      const left = across - acrossDots - gap;
      const size = isTall ? { width: left, height: along } : { width: along, height: left };
      const inner = arrangeQr(size, withoutCode128(needs));
      if (inner === null) continue;
      const strip = { kind: 'code128', moduleDots, acrossDots } as const;
      if (isTall) {
        return { ...inner, symbols: [...inner.symbols, { ...strip, x: left + gap, y: 0, turn: 90 }] };
      }
      const x = alongDots + gap;
      const free = { x, y: left + gap, width: along - x, height: acrossDots };
      return {
        ...inner,
        copy: inner.copy ?? copyAtRight(free, needs),
        symbols: [...inner.symbols, { ...strip, x: 0, y: left + gap, turn: 0 }],
      };
    }
  }
  return null;
}

/** The second ID beside a Code 128, in the face's lower right corner: upright, or turned if it is larger so. */
function copyAtRight(free: Box, needs: Needs): TextPlace | null {
  const dots = dotsFor(needs.dpi);
  const right = free.x + free.width;
  const largest = dots(COPY_CAP_MM.largest);
  const uprightCap = Math.floor(Math.min(free.width / needs.idAspect, free.height, largest));
  const turnedCap = Math.floor(Math.min(free.width, free.height / needs.idAspect, largest));
  if (Math.max(uprightCap, turnedCap) < dots(COPY_CAP_MM.least)) return null;
  if (uprightCap >= turnedCap) {
    const width = Math.ceil(uprightCap * needs.idAspect);
    const y = free.y + free.height - uprightCap;
    return { box: { x: right - width, y, width, height: uprightCap }, turn: 0, align: 'left' };
  }
  return { box: { ...free, x: right - turnedCap, width: turnedCap }, turn: 270, align: 'left' };
}

/** Both symbols on a large wide face: QR code at full height, Code 128 under the text beside it. */
function code128UnderText(room: Room, needs: Needs): Arrangement | null {
  if (room.width < UNDER_TEXT.fromAspect * room.height || needs.code128Modules === null) return null;
  const inner = arrangeQr(room, withoutCode128(needs));
  const qr = inner?.symbols[0];
  if (inner === null || qr === undefined || inner.lines === null) return null;
  const { box } = inner.id;
  const column = { ...box, height: inner.lines.box.y + inner.lines.box.height - box.y };
  const block = largestCode128(needs.code128Modules, column.width, needs);
  if (block === undefined || block.moduleDots < dotsAtLeast(CODE128_EASY_MM, needs.dpi)) return null;
  const gap = gapDots(room, needs.dpi);
  const acrossDots = Math.min(block.wantedDots, Math.floor(UNDER_TEXT.ofColumn * column.height));
  if (acrossDots < block.leastDots) return null;
  const y = column.y + column.height - acrossDots;
  return {
    ...inner,
    ...textColumn({ ...column, height: column.height - acrossDots - gap }, needs),
    symbols: [qr, { kind: 'code128', x: column.x, y, moduleDots: block.moduleDots, acrossDots, turn: 0 }],
  };
}

/** The Code 128 blocks that fit `alongDots`, the largest first. */
function* code128Blocks(modules: number, alongDots: number, needs: Needs): Iterable<Code128Block> {
  const least = dotsAtLeast(needs.leastMm.code128, needs.dpi);
  const largest = Math.max(least, dotsWithin(CODE128_LARGEST_MM, needs.dpi));
  for (let module = largest; module >= least; module--) {
    const block = code128Block(modules, module, needs.dpi);
    if (block.alongDots <= alongDots) yield block;
  }
}

function largestCode128(modules: number, alongDots: number, needs: Needs): Code128Block | undefined {
  const [largest] = code128Blocks(modules, alongDots, needs);
  return largest;
}

function withoutCode128(needs: Needs): Needs {
  return { ...needs, code128Modules: null };
}
