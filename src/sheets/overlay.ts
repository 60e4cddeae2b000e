/** A stock drawn as a sheet to lay over the real one: cells, zones, faces, and rulers in millimetres. */
import { MM_PER_INCH } from '../codes/module-fit.js';
import { Content } from './content.js';
import { boxOf, facesMm } from './faces.js';
import { type Box, type Turn, turnedSize } from './geometry.js';
import { DotPdf, showText } from './pdf.js';
import type { Stock } from './stock.js';
import { CAP_EM, Typesetter, type Weight } from './typesetter.js';

/** Fine enough for lines, and the same for every stock. */
const OVERLAY_DPI = 600;

const LINE_MM = 0.15;
const RULER_MM = { one: 1.5, five: 2.5, ten: 3.5 };
const RULER_CAP_MM = 1.2;
const HATCH_MM = 2.5;
/** Control points of a quarter circle drawn as a Bézier curve. */
const CIRCLE = 0.5523;

const NUMBER_CAP = { mm: 7, ofHeight: 0.3, ofWidth: 0.2 };
const REASON_CAP_MM = 1.7;
const CAPTION_CAP_MM = 1.9;
/** Printers leave the last millimetres of a page empty. */
const CAPTION_MARGIN_MM = 16;

/** Draws one page of the stock, equal for equal stocks. */
export async function renderStock(stock: Stock): Promise<Uint8Array> {
  const caption = `${stock.name}   ${stock.description}`;
  const typesetter = await Typesetter.open([caption, ...stock.no_print.map(({ why }) => why)]);
  const pdf = await DotPdf.create(typesetter, `Overlay of ${stock.name}`, null, OVERLAY_DPI);
  const pen = new Pen(typesetter);
  const { page, cells } = stock;

  for (let row = 0; row < cells.rows; row++) {
    for (let column = 0; column < cells.columns; column++) {
      const x = cells.left_mm + column * cells.pitch_x_mm;
      const y = cells.top_mm + row * cells.pitch_y_mm;
      drawCell(pen, stock, x, y, row * cells.columns + column + 1);
    }
  }
  drawRulers(pen, page.width_mm, page.height_mm);
  drawCaption(pen, stock, caption);
  const content = new Content();
  content.add(pdf.pageSpace(dots(page.height_mm)) + pen.content);
  await pdf.addPage(dots(page.width_mm), dots(page.height_mm), content);
  return pdf.save();
}

function drawCell(pen: Pen, stock: Stock, x: number, y: number, number: number): void {
  const { cells, shape } = stock;
  const cell = { x, y, width: cells.width_mm, height: cells.height_mm };
  for (const zone of stock.no_print) {
    const box = shifted(boxOf(zone), x, y);
    pen.hatch(box);
    pen.label(box, zone.why, 'medium', REASON_CAP_MM, box.height > 1.3 * box.width ? 90 : 0);
  }
  if (shape.kind === 'pointed tip') pen.outline(tippedCell(cell, shape.edge, shape.length_mm));
  else pen.roundedBox(cell, cells.corner_mm);
  if (shape.kind === 'punch hole') {
    const radius = shape.diameter_mm / 2;
    pen.roundedBox(
      { x: x + shape.x_mm - radius, y: y + shape.y_mm - radius, width: 2 * radius, height: 2 * radius },
      radius,
    );
  }
  for (const { box } of facesMm(stock)) pen.dashedBox(shifted(box, x, y));
  const [face] = facesMm(stock);
  if (face === undefined) return;
  const room = shifted(face.box, x, y);
  const capMm = Math.min(NUMBER_CAP.mm, NUMBER_CAP.ofHeight * room.height, NUMBER_CAP.ofWidth * room.width);
  pen.centred(room, String(number), 'bold', capMm, 0);
}

/** Five corners: the cell with its end drawn out to a point. */
function tippedCell(cell: Box, edge: 'top' | 'bottom' | 'left' | 'right', lengthMm: number): Point[] {
  const right = cell.x + cell.width;
  const bottom = cell.y + cell.height;
  const middleX = cell.x + cell.width / 2;
  const middleY = cell.y + cell.height / 2;
  switch (edge) {
    case 'bottom':
      return [
        [cell.x, cell.y],
        [right, cell.y],
        [right, bottom - lengthMm],
        [middleX, bottom],
        [cell.x, bottom - lengthMm],
      ];
    case 'top':
      return [
        [cell.x, bottom],
        [right, bottom],
        [right, cell.y + lengthMm],
        [middleX, cell.y],
        [cell.x, cell.y + lengthMm],
      ];
    case 'left':
      return [
        [right, cell.y],
        [right, bottom],
        [cell.x + lengthMm, bottom],
        [cell.x, middleY],
        [cell.x + lengthMm, cell.y],
      ];
    case 'right':
      return [
        [cell.x, cell.y],
        [cell.x, bottom],
        [right - lengthMm, bottom],
        [right, middleY],
        [right - lengthMm, cell.y],
      ];
  }
}

/** Along the upper and the left edge, from the page's corner. */
function drawRulers(pen: Pen, widthMm: number, heightMm: number): void {
  const tick = (at: number) => (at % 10 === 0 ? RULER_MM.ten : at % 5 === 0 ? RULER_MM.five : RULER_MM.one);
  for (let at = 1; at < widthMm; at++) pen.line([at, 0], [at, tick(at)]);
  for (let at = 1; at < heightMm; at++) pen.line([0, at], [tick(at), at]);
  for (let at = 10; at < widthMm; at += 10) pen.text(String(at), at + 0.4, RULER_MM.ten, RULER_CAP_MM);
  for (let at = 10; at < heightMm; at += 10) {
    pen.text(String(at), RULER_MM.five + 0.4, at - 0.4, RULER_CAP_MM);
  }
}

/** Name and dimensions: in the lower margin, or where there is none in the first face. */
function drawCaption(pen: Pen, stock: Stock, caption: string): void {
  const { page, cells } = stock;
  const cellsEnd = cells.top_mm + (cells.rows - 1) * cells.pitch_y_mm + cells.height_mm;
  const margin = page.height_mm - cellsEnd;
  if (margin >= 2 * CAPTION_CAP_MM) {
    const height = Math.min(margin, CAPTION_MARGIN_MM);
    const box = { x: 5, y: page.height_mm - height, width: page.width_mm - 10, height };
    pen.centred(box, caption, 'medium', CAPTION_CAP_MM, 0);
    return;
  }
  const face = facesMm(stock)[0];
  if (face === undefined) return;
  const box = shifted(face.box, cells.left_mm, cells.top_mm);
  const lower = {
    ...box,
    x: box.x + 1,
    width: box.width - 2,
    y: box.y + 0.7 * box.height,
    height: 0.3 * box.height,
  };
  pen.centred(lower, caption, 'medium', CAPTION_CAP_MM, 0);
}

type Point = readonly [number, number];

/** Draws in millimetres; what it drew is a content stream in dots. */
class Pen {
  content = `${dots(LINE_MM)} w\n`;

  constructor(readonly typesetter: Typesetter) {}

  line([x1, y1]: Point, [x2, y2]: Point): void {
    this.content += `${dots(x1)} ${dots(y1)} m ${dots(x2)} ${dots(y2)} l S\n`;
  }

  outline(points: readonly Point[]): void {
    const path = points.map(([x, y], index) => `${dots(x)} ${dots(y)} ${index === 0 ? 'm' : 'l'}`);
    this.content += `${path.join(' ')} s\n`;
  }

  dashedBox(box: Box): void {
    this.content += `q [${dots(0.8)} ${dots(0.8)}] 0 d ${rectangle(box)} S Q\n`;
  }

  roundedBox({ x, y, width, height }: Box, radius: number): void {
    const right = x + width;
    const bottom = y + height;
    const near = radius * (1 - CIRCLE);
    const at = (px: number, py: number) => `${dots(px)} ${dots(py)}`;
    this.content += [
      `${at(x + radius, y)} m ${at(right - radius, y)} l`,
      `${at(right - near, y)} ${at(right, y + near)} ${at(right, y + radius)} c`,
      `${at(right, bottom - radius)} l`,
      `${at(right, bottom - near)} ${at(right - near, bottom)} ${at(right - radius, bottom)} c`,
      `${at(x + radius, bottom)} l`,
      `${at(x + near, bottom)} ${at(x, bottom - near)} ${at(x, bottom - radius)} c`,
      `${at(x, y + radius)} l ${at(x, y + near)} ${at(x + near, y)} ${at(x + radius, y)} c s\n`,
    ].join('\n');
  }

  hatch(box: Box): void {
    this.content += `q ${rectangle(box)} W n 0.6 G\n`;
    for (let offset = HATCH_MM; offset < box.width + box.height; offset += HATCH_MM) {
      this.line([box.x + offset, box.y], [box.x + offset - box.height, box.y + box.height]);
    }
    this.content += `Q q 0.6 G ${rectangle(box)} S Q\n`;
  }

  /** Text centred on a white ground, smaller where the box is small. */
  label(box: Box, text: string, weight: Weight, capMm: number, turn: Turn): void {
    const cap = this.#fittingCap(box, text, weight, capMm, turn);
    const length = (this.typesetter.widthEm(text, weight) * cap) / CAP_EM + 1.2;
    const [width, height] = turn === 0 ? [length, 2 * cap] : [2 * cap, length];
    const ground = {
      x: box.x + (box.width - width) / 2,
      y: box.y + (box.height - height) / 2,
      width,
      height,
    };
    this.content += `q 1 g ${rectangle(ground)} f Q\n`;
    this.centred(box, text, weight, cap, turn);
  }

  centred(box: Box, text: string, weight: Weight, capMm: number, turn: Turn): void {
    const cap = this.#fittingCap(box, text, weight, capMm, turn);
    const length = (this.typesetter.widthEm(text, weight) * cap) / CAP_EM;
    const middleX = box.x + box.width / 2;
    const middleY = box.y + box.height / 2;
    if (turn === 0) this.text(text, middleX - length / 2, middleY + cap / 2, cap, weight, turn);
    else this.text(text, middleX - cap / 2, middleY - length / 2, cap, weight, turn);
  }

  /** Text from the start of its baseline. */
  text(text: string, x: number, y: number, capMm: number, weight: Weight = 'medium', turn: Turn = 0): void {
    const set = this.typesetter.set(text, weight);
    this.content += showText(set, dots(capMm / CAP_EM), dots(x), dots(y), turn);
  }

  #fittingCap(box: Box, text: string, weight: Weight, capMm: number, turn: Turn): number {
    const room = turnedSize({ box, turn });
    const widthCap = ((room.width - 1) * CAP_EM) / this.typesetter.widthEm(text, weight);
    return Math.min(capMm, 0.6 * room.height, Math.max(widthCap, 0.1));
  }
}

function rectangle(box: Box): string {
  return `${dots(box.x)} ${dots(box.y)} ${dots(box.width)} ${dots(box.height)} re`;
}

function shifted(box: Box, x: number, y: number): Box {
  return { ...box, x: box.x + x, y: box.y + y };
}

function dots(mm: number): number {
  return Math.round((mm * OVERLAY_DPI) / MM_PER_INCH);
}
