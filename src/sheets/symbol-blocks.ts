/**
 * A Code 128 with all that belongs to it, as a block of whole dots: quiet zones, and around them the
 * frame by which the picture of a damaged tag is squared up later.
 */
import { CODE128_QUIET_MODULES } from '../codes/code128.js';
import { dotsAtLeast } from '../codes/module-fit.js';

/** Thinnest line of a Code 128 frame that a worn print head still draws whole. */
const CODE128_FRAME_MM = 0.35;

/** Left free between the bars' ends and the frame, so that the frame is no part of a bar. */
const CODE128_END_MM = 0.5;

/** Bars at least so high (with 15 % of the symbol's length): common practice for hand scanners. */
const CODE128_BAR_MM = 6.4;
const CODE128_BAR_SHARE = 0.15;

/** What is left of that where there is no room; below it a hand scanner's line cannot be held. */
const CODE128_LEAST_BAR_MM = 3;

export interface Code128Block {
  readonly moduleDots: number;
  readonly frameDots: number;
  /** From the block's left edge to the first bar. */
  readonly sideDots: number;
  /** From the block's top edge to the bars. */
  readonly endDots: number;
  /** Along the symbol, frame and quiet zones included. */
  readonly alongDots: number;
  /** Height of the block with bars of the wanted, and of the least height. */
  readonly wantedDots: number;
  readonly leastDots: number;
}

/** The block of a Code 128 symbol of `modules`, at `moduleDots` dots a module. */
export function code128Block(modules: number, moduleDots: number, dpi: number): Code128Block {
  const frameDots = dotsAtLeast(CODE128_FRAME_MM, dpi);
  const sideDots = frameDots + CODE128_QUIET_MODULES * moduleDots;
  const endDots = frameDots + dotsAtLeast(CODE128_END_MM, dpi);
  const barDots = Math.max(
    dotsAtLeast(CODE128_BAR_MM, dpi),
    Math.ceil(CODE128_BAR_SHARE * modules * moduleDots),
  );
  return {
    moduleDots,
    frameDots,
    sideDots,
    endDots,
    alongDots: modules * moduleDots + 2 * sideDots,
    wantedDots: barDots + 2 * endDots,
    leastDots: dotsAtLeast(CODE128_LEAST_BAR_MM, dpi) + 2 * endDots,
  };
}
