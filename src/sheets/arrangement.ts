/** What is placed on a face and where: the terms of the arranging, and the measures common to all of it. */
import { MM_PER_INCH } from '../codes/module-fit.js';
import type { Box, Turn } from './geometry.js';

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

export interface LinesPlace extends TextPlace {
  readonly stand: 'top' | 'middle' | 'bottom';
  /** Capitals at most so high. */
  readonly capDots: number;
}

export interface Arrangement {
  readonly symbols: readonly SymbolPlace[];
  readonly id: TextPlace;
  /** The second copy of the ID; null where there is no room. */
  readonly copy: TextPlace | null;
  /** Cross, sowing date, key: at the top, in the middle or at the bottom of their box. */
  readonly lines: LinesPlace | null;
}

/** Size of a face, or of what is left of one, in dots. */
export interface Room {
  readonly width: number;
  readonly height: number;
}

/** Capitals of the ID: readable at 0.6 m (16 minutes of arc, ISO 9241-3), and the least accepted. */
export const ID_CAP_MM = { readable: 2.9, least: 1.2 };
/** Capitals of the lines, from the smallest to the largest stock. */
export const LINE_CAP_MM = { least: 0.85, usual: 1.9, largest: 3.4 };
/** Capitals of the second ID where it is small. */
export const COPY_CAP_MM = { least: 1.2, largest: 3.2 };
/** The second ID as a share of the first where it could be as large: one of them leads. */
export const COPY_TO_ID = 0.75;

/** A face this much wider than high has its code at the left, one as much higher than wide on top. */
export const CLEARLY_LONGER = 1.12;

const GAP_MM = { least: 0.8, largest: 3 };
/** Between blocks, as a share of the width, or of the height where that is what is short. */
const GAP_SHARE = 0.05;

/** Between the code and the text, and wherever one block ends and the next begins. */
export function gapDots(room: Room, dpi: number): number {
  const dots = dotsFor(dpi);
  const wanted = Math.round(GAP_SHARE * Math.min(room.width, 1.6 * room.height));
  return clamp(wanted, dots(GAP_MM.least), dots(GAP_MM.largest));
}

/** Millimetres to the nearest dot at a resolution. */
export function dotsFor(dpi: number): (mm: number) => number {
  return (mm) => Math.round((mm * dpi) / MM_PER_INCH);
}

export function clamp(value: number, least: number, largest: number): number {
  return Math.min(Math.max(value, least), largest);
}
