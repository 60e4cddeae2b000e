/**
 * A station's sign on one face: its QR code, as large as leaves room for the name, and the name in as large
 * type as fits.
 */

import { dotsAtLeast, fitModule } from '../codes/module-fit.js';
import { type QrLevel, signQrModules } from '../codes/qr.js';
import { qrBlockModules } from '../codes/qr-block.js';
import { signText } from '../codes/station-sign.js';
import { InputError } from '../errors.js';
import { CLEARLY_LONGER, gapDots, LINE_CAP_MM, type Room } from './arrangement.js';
import { type Composition, LINE_LEADING_EM, textAt } from './compose.js';
import type { Face } from './faces.js';
import { type Box, turnedSize } from './geometry.js';
import type { Label, LabelComposer } from './sheets.js';
import type { Stock } from './stock.js';
import { drawQr } from './symbol-drawing.js';
import { type FittedText, fitText } from './text-fit.js';
import { CAP_EM, type Typesetter } from './typesetter.js';

export interface Sign extends Label {
  readonly station: string;
}

export function signOf(station: string): Sign {
  return { id: station, station, text: signText(station) };
}

/** Of a face's longer side the code takes the first of these that fits; chosen by eye on rasterised sheets. */
const CODE_SHARES = [0.45, 0.6, 0.72];
/** Capitals of the name: read from a few metres, and no larger than the eye takes for one word. */
const NAME_CAP_MM = 12;

const LEVELS: readonly QrLevel[] = ['H', 'Q', 'M', 'L'];

export class SignComposer implements LabelComposer<Sign> {
  constructor(
    readonly stock: Stock,
    readonly dpi: number,
    readonly typesetter: Typesetter,
  ) {}

  /** Throws `InputError` (`symbol-does-not-fit`) if no level of error correction fits. */
  compose({ station, text }: Sign, face: Face): Composition {
    const room = turnedSize(face);
    const isWide = room.width >= CLEARLY_LONGER * room.height;
    const [along, across] = isWide ? [room.width, room.height] : [room.height, room.width];
    const least = dotsAtLeast(this.stock.least_module_mm.qr, this.dpi);
    const codes = LEVELS.map((level) => signQrModules(text, level));
    for (const share of CODE_SHARES) {
      for (const modules of codes) {
        const block = qrBlockModules(modules.size);
        const fit = fitModule(block, Math.min(across, share * along), least);
        if (fit.kind === 'too small') continue;
        const { moduleDots } = fit;
        const acrossDots = block * moduleDots;
        const name = nameBox(room, isWide, acrossDots, gapDots(room, this.dpi));
        const [x, y] = isWide
          ? [0, Math.round((room.height - acrossDots) / 2)]
          : [Math.round((room.width - acrossDots) / 2), 0];
        const place = { kind: 'qr', x, y, moduleDots, acrossDots, turn: 0 } as const;
        return { symbols: [drawQr(text, modules, place)], ...this.#name(station, name) };
      }
    }
    throw doesNotFit(station, this.stock);
  }

  /** Upright, or down a narrow stake where it is larger so. */
  #name(station: string, box: Box): Pick<Composition, 'texts' | 'shortened'> {
    const upright = this.#largest(station, { box, turn: 0 });
    const down = this.#largest(station, { box, turn: 90 });
    const legible = ({ fitted, text }: NameFit) => fitted.size * (isWhole(fitted, text) ? 1 : BREAK_BADLY);
    const isDown = legible(down) > DOWN_FROM * legible(upright);
    const { fitted } = isDown ? down : upright;
    const turn = isDown ? 90 : 0;
    const place = { box, turn, align: 'centre' } as const;
    const room = turnedSize(place);
    const capDots = Math.round(CAP_EM * fitted.size);
    const leading = Math.round(LINE_LEADING_EM * fitted.size);
    const high = capDots + leading * (fitted.lines.length - 1);
    const first = capDots + Math.round((room.height - high) / 2);
    const texts = fitted.lines.map(({ text }, index) => {
      const left = Math.round((room.width - this.#widthEm(text) * fitted.size) / 2);
      return textAt(place, text, 'bold', fitted.size, left, first + index * leading);
    });
    const shortened = fitted.shortened.map(({ full, shown }) => ({ field: 'station' as const, full, shown }));
    return { texts, shortened };
  }

  #widthEm(text: string): number {
    return this.typesetter.widthEm(text, 'bold');
  }

  /**
   * The largest size at which the name fits, tried in small steps since it is all there is to read; a smaller
   * one if it then breaks where it should.
   */
  #largest(station: string, place: Face): NameFit {
    const text = bound(station);
    const leastSize = dotsAtLeast(LINE_CAP_MM.least / CAP_EM, this.dpi);
    let largest: NameFit | undefined;
    for (
      let size = dotsAtLeast(NAME_CAP_MM / CAP_EM, this.dpi);
      size > leastSize;
      size = Math.floor(NEXT_SIZE * size)
    ) {
      const fitted = this.#fitAt(size, text, place);
      if (fitted.shortened.length > 0) continue;
      if (isWhole(fitted, text)) return { fitted, text };
      largest ??= { fitted, text };
      if (size < BREAK_BADLY * largest.fitted.size) return largest;
    }
    return largest ?? { fitted: this.#fitAt(leastSize, station, place), text: station };
  }

  #fitAt(size: number, text: string, place: Face): FittedText {
    const measure = (part: string) => this.#widthEm(part);
    return fitText([{ name: 'station', text, measure }], {
      ...turnedSize(place),
      largestSize: size,
      leastSize: size,
      capEm: CAP_EM,
      leadingEm: LINE_LEADING_EM,
    });
  }
}

interface NameFit {
  readonly fitted: FittedText;
  /** What was to be fitted. */
  readonly text: string;
}

/** Broken where it may be, and nowhere else. */
function isWhole({ lines }: FittedText, text: string): boolean {
  return lines.map((line) => line.text).join(' ') === text;
}

/** From one size tried to the next. */
const NEXT_SIZE = 0.95;
/** Of the largest size: smaller than this is worse than a line that ends in the middle of `bench 2 /`. */
const BREAK_BADLY = 0.6;
/** So much larger a name must be to be read with the head on one side. */
const DOWN_FROM = 1.3;

/** `bench 2 / row 3 / 7` with spaces that do not break, save those after the slashes. */
function bound(station: string): string {
  return station.replace(/ (?=[/\d])(?<=\p{L} )| (?=\/)/gu, '\u00a0');
}

function nameBox({ width, height }: Room, isWide: boolean, acrossDots: number, gap: number): Box {
  return isWide
    ? { x: acrossDots + gap, y: 0, width: width - acrossDots - gap, height }
    : { x: 0, y: acrossDots + gap, width, height: height - acrossDots - gap };
}

function doesNotFit(station: string, stock: Stock): InputError {
  return new InputError(
    'symbol-does-not-fit',
    `The sign of "${station}" does not fit stock "${stock.name}": its QR code would have modules of less than ${stock.least_module_mm.qr} mm.`,
    'Print it on a larger stock.',
  );
}
