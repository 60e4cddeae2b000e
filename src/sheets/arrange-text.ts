/** Where the ID, its second copy and the lines go, once the symbols have their places. */
import {
  type Arrangement,
  COPY_CAP_MM,
  COPY_TO_ID,
  clamp,
  dotsFor,
  gapDots,
  ID_CAP_MM,
  LINE_CAP_MM,
  type Needs,
  type Room,
  type TextPlace,
} from './arrangement.js';
import { type Box, turnedInto, turnedSize } from './geometry.js';

// Proportions, chosen by eye on rasterised sheets of every shipped stock.

/** Of a column beside a code the ID takes at most this, so that three lines stay legible. */
const ID_OF_COLUMN = 0.34;
/** Between the ID and the block of lines under it: a share of the ID's height, at most one of the column's. */
const LINE_GAP = { ofId: 0.5, ofColumn: 0.12 };
/** Of a block of lines the capitals of one: three lines fill nine tenths. */
const LINE_OF_BLOCK = 0.19;
/** Width of a usual line (`sown 2026-03-14`) as a multiple of its capitals' height. */
const USUAL_LINE_CAPS = 14;
/** Of what is left under a code on top, the ID. */
const ID_OF_REST = 0.27;
/** The second ID at the foot, as a share of the face's height. */
const COPY_OF_HEIGHT = 0.04;
/** Five lines of a usual height with what is between them. */
const FIVE_LINES_MM = 16;
/** A second ID that runs down a stake: of its width, of the length under the ID, and at least to the ID. */
const LONG_COPY = { ofWidth: 0.6, ofRest: 0.6, toId: 1.25 };
/** Narrower than a usual line shrunk to this share, a stake has its lines run down it too. */
const SHRUNK_LINE = 0.8;

/** ID at the top of a column, lines standing on its bottom. */
export function textColumn(column: Box, needs: Needs): Pick<Arrangement, 'id' | 'lines'> {
  const dots = dotsFor(needs.dpi);
  const idCap = Math.round(Math.min(column.width / needs.idAspect, ID_OF_COLUMN * column.height));
  const wanted = Math.min(LINE_GAP.ofId * idCap, LINE_GAP.ofColumn * column.height);
  const lineGap = Math.round(clamp(wanted, dots(0.7), dots(4)));
  const lines = { ...column, y: column.y + idCap + lineGap, height: column.height - idCap - lineGap };
  return {
    id: { box: { ...column, height: idCap }, turn: 0, align: 'left' },
    lines: linesIn(lines, 'bottom', 'left', needs),
  };
}

/** The second ID and the lines as a text column that runs down `box`. */
function turnedColumn(box: Box, needs: Needs): Pick<Arrangement, 'copy' | 'lines'> {
  const column = { x: 0, y: 0, ...turnedSize({ box, turn: 90 }) };
  const { id, lines } = textColumn(column, needs);
  const turned = <T extends TextPlace>(place: T): T => ({
    ...place,
    box: turnedInto(box, 90, place.box),
    turn: 90,
  });
  return { copy: turned(id), lines: lines && turned(lines) };
}

function linesIn(
  box: Box,
  stand: 'top' | 'bottom' | 'middle',
  align: 'left' | 'centre',
  needs: Needs,
  turn: 0 | 90 = 0,
): Arrangement['lines'] {
  const dots = dotsFor(needs.dpi);
  const { width, height } = turnedSize({ box, turn });
  if (height < dots(LINE_CAP_MM.least)) return null;
  const ofBlock = LINE_OF_BLOCK * height;
  // A narrow box is no reason for small lines, which can be wrapped; a low one is.
  const least = clamp(ofBlock, dots(LINE_CAP_MM.least), dots(LINE_CAP_MM.usual));
  const sensible = Math.min(ofBlock, width / USUAL_LINE_CAPS);
  const capDots = Math.round(clamp(sensible, least, dots(LINE_CAP_MM.largest)));
  return { box, turn, align, stand, capDots };
}

/** The text of a tall face under whatever takes the upper `used` dots. */
export function below(
  room: Box,
  used: number,
  gap: number,
  needs: Needs,
): Pick<Arrangement, 'id' | 'copy' | 'lines'> | null {
  const dots = dotsFor(needs.dpi);
  const top = room.y + used + (used === 0 ? 0 : gap);
  const height = room.height - (top - room.y);
  const idCap = Math.floor(Math.min(room.width / needs.idAspect, ID_OF_REST * height));
  if (idCap < dots(ID_CAP_MM.least)) return null;
  const id = { box: { ...room, y: top, height: idCap }, turn: 0 as const, align: 'centre' as const };
  const idGap = Math.max(gap, Math.round(0.5 * idCap), dots(1.2));
  const rest = { ...room, y: top + idCap + idGap, height: height - idCap - idGap };
  if (rest.height < dots(LINE_CAP_MM.least)) return { id, copy: null, lines: null };

  // On a stake the copy runs down the foot, as large as the width allows.
  const longCap = Math.floor(
    Math.min(LONG_COPY.ofWidth * room.width, (LONG_COPY.ofRest * rest.height) / needs.idAspect),
  );
  if (longCap >= LONG_COPY.toId * idCap) {
    const length = Math.ceil(longCap * needs.idAspect);
    const x = room.x + Math.round((room.width - longCap) / 2);
    const lines = { ...rest, height: rest.height - length - 2 * gap };
    const foot = { x, y: rest.y + rest.height - length, width: longCap, height: length };
    const copy: TextPlace = { box: foot, turn: 90, align: 'left' };
    const usualLine = USUAL_LINE_CAPS * dots(LINE_CAP_MM.usual);
    if (room.width >= SHRUNK_LINE * usualLine) {
      return { id, copy, lines: linesIn(lines, 'top', 'centre', needs) };
    }
    if (lines.height >= usualLine) return { id, copy, lines: linesIn(lines, 'middle', 'left', needs, 90) };
    return { id, ...turnedColumn(rest, needs) };
  }
  const usualCap = clamp(
    Math.round(COPY_OF_HEIGHT * room.height),
    dots(COPY_CAP_MM.least),
    dots(COPY_CAP_MM.largest),
  );
  const copyCap = Math.max(usualCap, roomyCap(rest.height - gap, idCap, needs));
  if (rest.height < copyCap + gap + dots(3 * LINE_CAP_MM.usual)) {
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

/** A text column with the second ID at its foot, and the lines under the first, if it is long enough for that. */
function footedColumn(column: Box, gap: number, needs: Needs): Pick<Arrangement, 'id' | 'copy' | 'lines'> {
  const { id, lines } = textColumn(column, needs);
  const cap = lines === null ? 0 : roomyCap(lines.box.height - gap, id.box.height, needs);
  if (lines === null || cap < dotsFor(needs.dpi)(COPY_CAP_MM.least)) return { id, copy: null, lines };
  const foot = { ...column, y: column.y + column.height - cap, height: cap };
  const above = { ...lines.box, height: lines.box.height - gap - cap };
  return {
    id,
    copy: { box: foot, turn: 0, align: 'left' },
    lines: linesIn(above, 'top', 'left', needs),
  };
}

/** Height of a second ID in what five usual lines leave of `height`, smaller than the first; 0 if there is nothing left. */
function roomyCap(height: number, idCap: number, needs: Needs): number {
  const lines = dotsFor(needs.dpi)(FIVE_LINES_MM);
  return Math.floor(clamp(height - lines, 0, COPY_TO_ID * idCap));
}

/** The text of a face whose only symbol is a Code 128 that has its place already. */
export function textOnly(room: Room, needs: Needs): Arrangement | null {
  const dots = dotsFor(needs.dpi);
  const gap = gapDots(room, needs.dpi);
  if (room.width < 0.8 * room.height) {
    const text = below({ x: 0, y: 0, ...room }, 0, gap, needs);
    return text === null ? null : { symbols: [], ...text };
  }
  const idWidth = Math.min(room.height * needs.idAspect, 0.5 * room.width);
  const beside = idWidth / needs.idAspect >= dots(ID_CAP_MM.readable) && room.height < 0.3 * room.width;
  if (!beside) {
    if (room.height < dots(ID_CAP_MM.least)) return null;
    return { symbols: [], ...footedColumn({ x: 0, y: 0, ...room }, gap, needs) };
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
