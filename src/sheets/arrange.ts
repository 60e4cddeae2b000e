/**
 * Where symbol and text go on a face: pure geometry in whole dots from the face's top left.
 *
 * Wide faces have the code at the left and text beside it, tall ones the code on top and text below.
 * A Code 128 lies along the longer side. The ID hangs from the upper edge of the code's block and
 * the lines stand on its lower edge, their descenders in the cell's safe inset. The second, small copy of the ID is put where the code or the
 * lines lie between it and the large one, so that one smear does not take both.
 */

import { dotsAtLeast, dotsWithin, fitModule, MM_PER_INCH } from '../codes/module-fit.js';
import type { Box, Turn } from './geometry.js';
import { code128Block, qrBlockModules } from './symbol-blocks.js';

/** What has to be placed; the same for most tags of a sheet. */
export interface Needs {
  /** Modules on a side of the QR code, without quiet zone; null: none is wanted. */
  readonly qrModules: number | null;
  /** Modules along the Code 128 at its widest, without quiet zones; null: none is wanted. */
  readonly code128Modules: number | null;
  /** Width of the ID with its issue, as a multiple of its capitals' height. */
  readonly idAspect: number;
  readonly leastMm: { readonly qr: number; readonly code128: number };
  readonly dpi: number;
}

/** A block of `symbol-blocks.ts`; `across` is the height of a Code 128's block. */
export interface SymbolPlace {
  readonly kind: 'qr' | 'code128';
  readonly x: number;
  readonly y: number;
  readonly moduleDots: number;
  readonly acrossDots: number;
  readonly turn: 0 | 90;
}

export interface TextPlace {
  readonly box: Box;
  readonly turn: Turn;
  readonly align: 'left' | 'centre';
}

export interface Arrangement {
  readonly symbols: readonly SymbolPlace[];
  readonly id: TextPlace;
  /** The second copy of the ID; null where there is no room. */
  readonly copy: TextPlace | null;
  /** Cross, sowing date, key: set from the bottom up where `stand` is 'bottom'. */
  readonly lines: (TextPlace & { readonly stand: 'top' | 'bottom'; readonly capDots: number }) | null;
}

interface Room {
  readonly width: number;
  readonly height: number;
}

/** Code 128 gains nothing for a hand scanner beyond this module, and the ID needs the room. */
const CODE128_LARGEST_MM = 0.5;
/** A module that hand scanners and phones read at ease: below it a second way of placing is tried. */
const CODE128_EASY_MM = 0.33;
/** Capitals of the ID: readable at 0.6 m (16 minutes of arc, ISO 9241-3), and the least accepted. */
const ID_CAP_MM = 2.9;
const ID_LEAST_CAP_MM = 1.2;
/** Capitals of the lines, from the smallest to the largest stock. */
export const LINE_CAP_MM = { least: 0.85, usual: 1.9, largest: 3.4 };
/** Width of a usual line (`sown 2026-03-14`) as a multiple of its capitals' height. */
const USUAL_LINE_CAPS = 14;
const COPY_CAP_MM = { least: 1.2, largest: 3.2 };
const GAP_MM = { least: 0.8, largest: 3 };
/** Narrower than this, upright lines hold too little beside a Code 128 that runs along the edge. */
const STRIP_BESIDE_MM = 25;

/** Arranges a face; null when the symbols at their least modules leave no room for a legible ID. */
export function arrange(room: Room, needs: Needs): Arrangement | null {
  if (needs.code128Modules === null) return withQr(room, needs);
  if (needs.qrModules !== null) {
    const beside = code128UnderText(room, needs);
    if (beside !== null) return beside;
  }
  return withCode128(room, needs, needs.code128Modules);
}

/** QR code and text, or text alone. */
function withQr(room: Room, needs: Needs): Arrangement | null {
  if (needs.qrModules === null) return textOnly(room, needs);
  const wide = room.width >= 1.12 * room.height;
  const first = wide ? sideBySide(room, needs, needs.qrModules) : stacked(room, needs, needs.qrModules);
  return first ?? (wide ? stacked(room, needs, needs.qrModules) : sideBySide(room, needs, needs.qrModules));
}

/** Small ID upright along the left edge, QR code, text column. */
function sideBySide(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const u = units(needs.dpi);
  const modules = qrBlockModules(qrModules);
  const fit = fitModule(modules, room.height, dotsAtLeast(needs.leastMm.qr, needs.dpi));
  if (fit.kind === 'too small') return null;
  const gap = gapDots(room, u);
  const copyCap = clamp(Math.round(0.09 * room.height), u(COPY_CAP_MM.least), u(COPY_CAP_MM.largest));
  const spine = copyCap + Math.round(0.75 * gap);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  for (const indent of [spine, 0]) {
    for (let module = fit.moduleDots; module >= least; module--) {
      const side = modules * module;
      const column = room.width - indent - side - gap;
      if (column < Math.max(u(ID_CAP_MM) * needs.idAspect, 1.1 * side)) continue;
      return place(indent, module);
    }
  }
  const tight = room.width - modules * least - gap >= u(ID_LEAST_CAP_MM) * needs.idAspect;
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

/** ID at the top of a column, lines standing on its bottom. */
function textColumn(column: Box, needs: Needs): Pick<Arrangement, 'id' | 'lines'> {
  const u = units(needs.dpi);
  const idCap = Math.round(Math.min(column.width / needs.idAspect, 0.34 * column.height));
  const lineGap = Math.round(clamp(0.4 * idCap, u(0.7), u(4)));
  const lines = { ...column, y: column.y + idCap + lineGap, height: column.height - idCap - lineGap };
  return {
    id: { box: { ...column, height: idCap }, turn: 0, align: 'left' },
    lines: linesIn(lines, 'bottom', 'left', needs),
  };
}

function linesIn(
  box: Box,
  stand: 'top' | 'bottom',
  align: 'left' | 'centre',
  needs: Needs,
): Arrangement['lines'] {
  const u = units(needs.dpi);
  if (box.height < u(LINE_CAP_MM.least)) return null;
  const sensible = Math.min(0.19 * box.height, box.width / USUAL_LINE_CAPS);
  const capDots = Math.round(clamp(sensible, u(LINE_CAP_MM.usual), u(LINE_CAP_MM.largest)));
  return { box, turn: 0, align, stand, capDots };
}

/** QR code on top, then the ID, the lines, and the second ID at the foot. */
function stacked(room: Room, needs: Needs, qrModules: number): Arrangement | null {
  const u = units(needs.dpi);
  const modules = qrBlockModules(qrModules);
  const least = dotsAtLeast(needs.leastMm.qr, needs.dpi);
  const sideRoom = Math.min(room.width, Math.max(0.54 * room.height, least * modules));
  const fit = fitModule(modules, sideRoom, least);
  if (fit.kind === 'too small') return null;
  const side = modules * fit.moduleDots;
  const x = Math.round((room.width - side) / 2);
  const text = below({ x: 0, y: 0, ...room }, side, gapDots(room, u), needs);
  if (text === null) return null;
  return {
    symbols: [{ kind: 'qr', x, y: 0, moduleDots: fit.moduleDots, acrossDots: side, turn: 0 }],
    ...text,
  };
}

/** The text of a tall face under whatever takes the upper `used` dots. */
function below(
  room: Box,
  used: number,
  gap: number,
  needs: Needs,
): Pick<Arrangement, 'id' | 'copy' | 'lines'> | null {
  const u = units(needs.dpi);
  const top = room.y + used + (used === 0 ? 0 : gap);
  const height = room.height - (top - room.y);
  const idCap = Math.floor(Math.min(room.width / needs.idAspect, 0.27 * height));
  if (idCap < u(ID_LEAST_CAP_MM)) return null;
  const id = { box: { ...room, y: top, height: idCap }, turn: 0 as const, align: 'centre' as const };
  const idGap = Math.max(gap, Math.round(0.5 * idCap), u(1.2));
  const rest = { ...room, y: top + idCap + idGap, height: height - idCap - idGap };
  if (rest.height < u(LINE_CAP_MM.least)) return { id, copy: null, lines: null };

  // On a stake the copy runs down the foot, as large as the width allows.
  const longCap = Math.floor(Math.min(0.6 * room.width, (0.6 * rest.height) / needs.idAspect));
  if (longCap >= 1.25 * idCap) {
    const length = Math.ceil(longCap * needs.idAspect);
    const x = room.x + Math.round((room.width - longCap) / 2);
    const lines = { ...rest, height: rest.height - length - 2 * gap };
    return {
      id,
      copy: {
        box: { x, y: rest.y + rest.height - length, width: longCap, height: length },
        turn: 90,
        align: 'left',
      },
      lines: linesIn(lines, 'top', 'centre', needs),
    };
  }
  const copyCap = Math.round(clamp(0.04 * room.height, u(COPY_CAP_MM.least), u(COPY_CAP_MM.largest)));
  if (rest.height < copyCap + gap + u(3 * LINE_CAP_MM.usual)) {
    return { id, copy: null, lines: linesIn(rest, 'top', 'centre', needs) };
  }
  return {
    id,
    copy: {
      box: { ...rest, y: rest.y + rest.height - copyCap, height: copyCap },
      turn: 0,
      align: 'centre',
    },
    lines: linesIn({ ...rest, height: rest.height - copyCap - gap }, 'top', 'centre', needs),
  };
}

/** The text of a face whose only symbol is a Code 128 that has its place already. */
function textOnly(room: Room, needs: Needs): Arrangement | null {
  const u = units(needs.dpi);
  const gap = gapDots(room, u);
  if (room.width < 0.8 * room.height) {
    const text = below({ x: 0, y: 0, ...room }, 0, gap, needs);
    return text === null ? null : { symbols: [], ...text };
  }
  const idWidth = Math.min(room.height * needs.idAspect, 0.5 * room.width);
  const beside = idWidth / needs.idAspect >= u(ID_CAP_MM) && room.height < 0.3 * room.width;
  if (!beside) {
    if (room.height < u(ID_LEAST_CAP_MM)) return null;
    return { symbols: [], copy: null, ...textColumn({ x: 0, y: 0, ...room }, needs) };
  }
  const x = Math.round(idWidth) + 2 * gap;
  return {
    symbols: [],
    copy: null,
    id: {
      box: { x: 0, y: 0, width: Math.round(idWidth), height: Math.round(idWidth / needs.idAspect) },
      turn: 0,
      align: 'left',
    },
    lines: linesIn({ x, y: 0, width: room.width - x, height: room.height }, 'top', 'left', needs),
  };
}

/** A Code 128 along the longer side; what is left goes to the rest. */
function withCode128(room: Room, needs: Needs, modules: number): Arrangement | null {
  const u = units(needs.dpi);
  const gap = gapDots(room, u);
  const rest: Needs = { ...needs, code128Modules: null };
  const tall = room.height >= 1.12 * room.width;
  const narrow = room.width < u(STRIP_BESIDE_MM);

  if (tall && narrow) {
    const block =
      largestCode128(modules, 0.42 * room.height, needs) ?? largestCode128(modules, 0.6 * room.height, needs);
    if (block === null || block.leastDots > room.width) return null;
    const y = room.height - block.alongDots;
    const inner = withQr({ width: room.width, height: y - gap }, rest);
    const place = { kind: 'code128', x: 0, y, acrossDots: room.width, turn: 90 } as const;
    return inner && { ...inner, symbols: [...inner.symbols, { ...place, moduleDots: block.moduleDots }] };
  }
  const along = tall ? room.height : room.width;
  const across = tall ? room.width : room.height;
  for (const share of [0.5, 0.65, 0.78]) {
    for (
      let block = largestCode128(modules, along, needs);
      block !== null;
      block = nextSmaller(block, modules, needs)
    ) {
      const acrossDots = Math.min(block.wantedDots, Math.floor(share * across));
      if (acrossDots < block.leastDots) continue;
      const left = across - acrossDots - gap;
      const inner = withQr(
        tall ? { width: left, height: room.height } : { width: room.width, height: left },
        rest,
      );
      if (inner === null) continue;
      const place = { kind: 'code128', acrossDots, moduleDots: block.moduleDots } as const;
      const beside = { x: block.alongDots + gap, y: left + gap, height: acrossDots };
      return {
        ...inner,
        copy: tall ? inner.copy : (inner.copy ?? copyAtRight({ ...beside, width: along - beside.x }, needs)),
        symbols: [
          ...inner.symbols,
          tall ? { ...place, x: left + gap, y: 0, turn: 90 } : { ...place, x: 0, y: left + gap, turn: 0 },
        ],
      };
    }
  }
  return null;
}

/** The second ID beside a Code 128, in the face's lower right corner: upright, or turned where it is narrow. */
function copyAtRight(free: Box, needs: Needs): TextPlace | null {
  const u = units(needs.dpi);
  const right = free.x + free.width;
  const uprightCap = Math.floor(Math.min(free.width / needs.idAspect, free.height, u(COPY_CAP_MM.largest)));
  if (uprightCap >= u(COPY_CAP_MM.least)) {
    const width = Math.ceil(uprightCap * needs.idAspect);
    const y = free.y + free.height - uprightCap;
    return { box: { x: right - width, y, width, height: uprightCap }, turn: 0, align: 'left' };
  }
  const turnedCap = Math.floor(Math.min(free.width, free.height / needs.idAspect));
  if (turnedCap < u(COPY_CAP_MM.least)) return null;
  return { box: { ...free, x: right - turnedCap, width: turnedCap }, turn: 270, align: 'left' };
}

/** Both symbols on a large wide face: QR code at full height, Code 128 under the text beside it. */
function code128UnderText(room: Room, needs: Needs): Arrangement | null {
  if (room.width < 1.6 * room.height || needs.code128Modules === null) return null;
  const inner = withQr(room, { ...needs, code128Modules: null });
  const qr = inner?.symbols[0];
  if (inner === null || qr === undefined || inner.lines === null) return null;
  const column = { ...inner.id.box, y: qr.y, height: qr.acrossDots };
  const block = largestCode128(needs.code128Modules, column.width, needs);
  if (block === null || block.moduleDots < dotsAtLeast(CODE128_EASY_MM, needs.dpi)) return null;
  const gap = gapDots(room, units(needs.dpi));
  const acrossDots = Math.min(block.wantedDots, Math.floor(0.4 * column.height));
  if (acrossDots < block.leastDots) return null;
  const y = column.y + column.height - acrossDots;
  return {
    ...inner,
    ...textColumn({ ...column, height: column.height - acrossDots - gap }, needs),
    symbols: [qr, { kind: 'code128', x: column.x, y, moduleDots: block.moduleDots, acrossDots, turn: 0 }],
  };
}

/** The largest Code 128 block within `alongDots`, or null when the least module does not fit. */
function largestCode128(modules: number, alongDots: number, needs: Needs) {
  const least = dotsAtLeast(needs.leastMm.code128, needs.dpi);
  const largest = Math.max(least, dotsWithin(CODE128_LARGEST_MM, needs.dpi));
  for (let module = largest; module >= least; module--) {
    const block = code128Block(modules, module, needs.dpi);
    if (block.alongDots <= alongDots) return block;
  }
  return null;
}

function nextSmaller(block: { readonly moduleDots: number }, modules: number, needs: Needs) {
  const module = block.moduleDots - 1;
  return module < dotsAtLeast(needs.leastMm.code128, needs.dpi)
    ? null
    : code128Block(modules, module, needs.dpi);
}

function gapDots(room: Room, u: (mm: number) => number): number {
  return clamp(
    Math.round(0.05 * Math.min(room.width, 1.6 * room.height)),
    u(GAP_MM.least),
    u(GAP_MM.largest),
  );
}

function units(dpi: number): (mm: number) => number {
  return (mm) => Math.round((mm * dpi) / MM_PER_INCH);
}

function clamp(value: number, least: number, largest: number): number {
  return Math.min(Math.max(value, least), largest);
}
