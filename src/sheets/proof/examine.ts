/** One picture of one printed page: what of it is there, where it lies, and how well it is printed. */
import type { IdLength } from '../../ids/plant-id.js';
import type { Calibration } from '../../ledger/model.js';
import type { GrayPicture } from '../../scan/picture.js';
import type { Cell } from './cell-grid.js';
import { correctionFor, fitPrinter, type PrinterMap, sheetError, TOLERANCE_MM } from './fit.js';
import { LEAST_PX_PER_MODULE, type SymbolGrade } from './grade.js';
import { gradeCode128 } from './grade-code128.js';
import { gradeQr } from './grade-qr.js';
import { type Levels, levelsOf, type Seen, seenAtBox } from './ink.js';
import type { MeasuredBy, Paper } from './paper.js';
import {
  isSameCell,
  type LocatedSymbol,
  locate,
  type Placement,
  placeSymbols,
  type TagInPlace,
} from './placement.js';
import { candidatesOf, findPose, ownCorners, refinedPose } from './pose.js';
import {
  centroid,
  composed,
  distance,
  inverted,
  mapPoint,
  type Pair,
  type PlaneMap,
  type Point,
} from './projective.js';
import { cornersOf, type PrintedPage, type PrintedSymbol, type PrintedTag } from './reference.js';
import { blockOffset, inPlace, isUpright, type Registration, register, seenAt } from './register.js';
import { type FoundSymbol, keyOf, readPart, tagNamed } from './symbols.js';

export interface TagOnPage {
  readonly tag: PrintedTag;
}

interface MissingTag extends TagOnPage {
  readonly because: Exclude<Seen, 'dark'> | 'another tag';
  /** The text of what is in its cell instead; null for nothing. */
  readonly instead: string | null;
}

interface UnreadableTag extends TagOnPage {
  /** The kinds of its symbols that were not read; one that is read elsewhere on the tag is not among them. */
  readonly symbols: readonly PrintedSymbol['kind'][];
}

interface MisplacedTag extends TagOnPage {
  /** Null off the grid; the tag's own cell where it only slipped. */
  readonly foundIn: Cell | null;
  /** From its own place, mm to the right and down; null where the kept page does not tell that place. */
  readonly offMm: Point | null;
}

interface DoubleTag extends TagOnPage {
  readonly foundIn: Cell | null;
}

interface Stranger {
  readonly text: string;
  readonly foundIn: Cell | null;
}

export interface Measured {
  readonly by: MeasuredBy;
  readonly scaleBy: Paper['scaleBy'];
  readonly printer: PrinterMap;
  /** The sheet against its labels (of a PDF: against the page as printed); null where not measured. */
  readonly scale: number | null;
  /** Null where the picture tells no paper's corner. */
  readonly offsetMm: Point | null;
  /** How far scale, offset and skew move the tag they move most, mm; null without an offset. */
  readonly worstShiftMm: number | null;
  /** Nudge and scale of the next print, all in all; null for a PDF, without scale or offset, or out of range. */
  readonly correction: Calibration | null;
}

export interface GradedSymbol extends TagOnPage {
  readonly kind: PrintedSymbol['kind'];
  /** Null where the picture has too few pixels a module. */
  readonly grade: SymbolGrade | null;
  readonly pxPerModule: number;
}

export interface PageProof {
  /** Without its pictures: a document may have hundreds of pages. */
  readonly page: Omit<PrintedPage, 'picture' | 'read' | 'grid'>;
  readonly expectedCount: number;
  /** Tags of which every symbol was read, wherever they lie. */
  readonly readCount: number;
  readonly missing: readonly MissingTag[];
  readonly unreadable: readonly UnreadableTag[];
  readonly misplaced: readonly MisplacedTag[];
  readonly doubles: readonly DoubleTag[];
  readonly strangers: readonly Stranger[];
  /** Null where nothing in the picture says where or how large the paper is. */
  readonly measured: Measured | null;
  /** Empty for a PDF, which is no print. */
  readonly grades: readonly GradedSymbol[];
}

/** How a picture is to be looked at. */
export interface View {
  readonly picture: GrayPicture;
  /** Pixels brought near to mm, as far as is known. */
  readonly plane: PlaneMap;
  /** The paper, once the print's pose is known. */
  readonly paperAt: (pose: PlaneMap) => Paper | null;
  readonly isPrint: boolean;
}

/** A tag that lies so far (mm) from where the others have it has slipped. */
const SLIPPED_MM = 1;
/** A registration that fits worse than this is not believed. */
const LEAST_FIT = 0.6;

/** Null when no symbol found is on the page. */
export async function examinePage(
  view: View,
  read: readonly FoundSymbol[],
  page: PrintedPage,
  idLength: IdLength,
): Promise<PageProof | null> {
  const nameOf = (text: string): string | null => {
    const tag = tagNamed(text, idLength);
    return tag && keyOf(tag);
  };
  // The kept page itself needs no fitting: it lies as it was drawn, to the last digit.
  const isKept = view.picture === page.picture;
  const pose = isKept ? view.plane : findPose(candidatesOf(read, page, nameOf), view.plane);
  if (pose === null) return null;
  const { picture } = view;
  const place = (found: readonly FoundSymbol[]) =>
    placeSymbols(page, locate(found, pose, page.grid, nameOf), keyOf);
  let placement = place(read);
  const light = placement.tags.every(({ isRead }) => isRead) ? [] : levelsOfRead(picture, pose, placement);
  const closer = await lookCloser(picture, pose, placement, light);
  if (closer.length > 0) placement = place([...read, ...closer]);

  const registered = registerAll(view, page, pose, placement.tags);
  const truePose = refinedPose(
    pose,
    registered.map(({ symbol, registration }) => {
      const to = centroid(cornersOf(symbol.boxMm));
      return { from: { x: to.x + registration.shift.x, y: to.y + registration.shift.y }, to };
    }),
  );
  const paper = view.paperAt(truePose);
  const slipped = slippedTags(registered, composed(truePose, inverted(pose)));
  const measured = paper && measure(view, page, pose, paper, registered);
  const absent = absentTags(picture, pose, placement, light);
  const misplaced = [...placement.misplaced.map(misplacedTag), ...slipped];
  const notRead = absent.missing.length + absent.unreadable.length;
  const { sheet, number, isRoll, tags } = page;
  return {
    page: { sheet, number, isRoll, tags },
    expectedCount: page.tags.length,
    readCount: page.tags.length - notRead,
    ...absent,
    misplaced,
    doubles: placement.doubles.map(({ tag, found }) => ({ tag, foundIn: found.cell })),
    strangers: placement.strangers.map(({ text, cell }) => ({ text, foundIn: cell })),
    measured,
    grades: view.isPrint
      ? registered.map((one) => gradeOne(view, page, pose, paper?.map ?? truePose, one))
      : [],
  };
}

function levelsOfRead(picture: GrayPicture, pose: PlaneMap, { tags }: Placement): Levels[] {
  return tags.flatMap(({ symbols }) =>
    symbols.flatMap(({ symbol, found }) => (found === null ? [] : [levelsOf(picture, pose, symbol.boxMm)])),
  );
}

/** Reads again, one by one, where a symbol should be and something dark is. */
async function lookCloser(
  picture: GrayPicture,
  pose: PlaneMap,
  { tags }: Placement,
  light: readonly Levels[],
): Promise<FoundSymbol[]> {
  const toPicture = inverted(pose);
  const found: FoundSymbol[] = [];
  for (const { symbols } of tags) {
    for (const { symbol, found: before } of symbols) {
      if (before !== null || seenAtBox(picture, pose, symbol.boxMm, light) !== 'dark') continue;
      const around = 8 * symbol.moduleMm;
      const { x, y, width, height } = symbol.boxMm;
      const box = { x: x - around, y: y - around, width: width + 2 * around, height: height + 2 * around };
      const corners = cornersOf(box).map((corner) => mapPoint(toPicture, corner));
      const xs = corners.map((corner) => corner.x);
      const ys = corners.map((corner) => corner.y);
      const part = {
        left: Math.min(...xs),
        right: Math.max(...xs),
        top: Math.min(...ys),
        bottom: Math.max(...ys),
      };
      found.push(...(await readPart(picture, part)));
    }
  }
  return found;
}

interface Registered extends TagOnPage {
  readonly symbol: PrintedSymbol;
  readonly registration: Registration;
}

function registerAll(
  view: View,
  page: PrintedPage,
  pose: PlaneMap,
  tags: readonly TagInPlace[],
): Registered[] {
  return tags.flatMap(({ tag, symbols }) =>
    symbols.flatMap(({ symbol, found }) => {
      if (found === null) return [];
      if (view.picture === page.picture) return [{ tag, symbol, registration: inPlace(symbol) }];
      const { start, searchMm } = startOf(symbol, found);
      const registration = register(view.picture, page.picture, pose, symbol, start, searchMm);
      return registration !== null && registration.fit >= LEAST_FIT ? [{ tag, symbol, registration }] : [];
    }),
  );
}

/** A QR code's corners are exact; of a Code 128 only its ends are, and along the bars the pose is truer. */
function startOf(symbol: PrintedSymbol, found: LocatedSymbol): { start: Point; searchMm: Point } {
  const middle = centroid(cornersOf(symbol.boxMm));
  const start = { x: found.at.x - middle.x, y: found.at.y - middle.y };
  if (symbol.kind === 'qr') return { start, searchMm: { x: 0, y: 0 } };
  const along = symbol.moduleMm;
  return isUpright(symbol)
    ? { start: { x: 0, y: start.y }, searchMm: { x: symbol.boxMm.width / 3, y: along } }
    : { start: { x: start.x, y: 0 }, searchMm: { x: along, y: symbol.boxMm.height / 3 } };
}

function slippedTags(registered: readonly Registered[], correction: PlaneMap): MisplacedTag[] {
  const slipped = new Map<PrintedTag, MisplacedTag>();
  for (const { tag, symbol, registration } of registered) {
    const middle = centroid(cornersOf(symbol.boxMm));
    const at = mapPoint(correction, {
      x: middle.x + registration.shift.x,
      y: middle.y + registration.shift.y,
    });
    const offMm = { x: at.x - middle.x, y: at.y - middle.y };
    if (Math.hypot(offMm.x, offMm.y) > SLIPPED_MM) slipped.set(tag, { tag, foundIn: tag.cell, offMm });
  }
  return [...slipped.values()];
}

function misplacedTag({ tag, found }: Placement['misplaced'][number]): MisplacedTag {
  const own = tag.symbols.find(({ kind }) => kind === found.kind);
  const middle = own && centroid(cornersOf(own.boxMm));
  const offMm = middle ? { x: found.at.x - middle.x, y: found.at.y - middle.y } : null;
  return { tag, foundIn: found.cell, offMm };
}

function absentTags(
  picture: GrayPicture,
  pose: PlaneMap,
  { tags, misplaced, doubles, strangers }: Placement,
  light: readonly Levels[],
): { readonly missing: MissingTag[]; readonly unreadable: UnreadableTag[] } {
  const elsewhere = new Set(misplaced.map(({ tag }) => tag));
  const others = [...misplaced.map(({ found }) => found), ...doubles.map(({ found }) => found), ...strangers];
  const missing: MissingTag[] = [];
  const unreadable: UnreadableTag[] = [];
  for (const { tag, symbols, isRead } of tags) {
    const unread = symbols.filter(({ found }) => found === null);
    if (isRead || elsewhere.has(tag)) continue;
    const seen = unread.map(({ symbol }) => seenAtBox(picture, pose, symbol.boxMm, light));
    const because = seen.find((one) => one !== 'dark');
    const other = others.find(({ cell }) => isSameCell(cell, tag.cell));
    if (other !== undefined && unread.length === symbols.length) {
      missing.push({ tag, because: 'another tag', instead: other.name ?? other.text });
      continue;
    }
    if (because === undefined || unread.length < symbols.length || seen.includes('dark')) {
      unreadable.push({ tag, symbols: [...new Set(unread.map(({ symbol }) => symbol.kind))] });
    } else missing.push({ tag, because, instead: null });
  }
  return { missing, unreadable };
}

function measure(
  { isPrint }: View,
  page: PrintedPage,
  pose: PlaneMap,
  paper: Paper,
  registered: readonly Registered[],
): Measured | null {
  const onPaper = composed(paper.map, inverted(pose));
  const pairs: Pair[] = registered.map(({ symbol, registration }) => {
    const from = centroid(cornersOf(symbol.boxMm));
    const { shift } = registration;
    return { from, to: mapPoint(onPaper, { x: from.x + shift.x, y: from.y + shift.y }) };
  });
  const printedWith = isPrint ? page.sheet : { nudgeMm: { x: 0, y: 0 }, scale: 1 };
  const printer = fitPrinter(pairs, printedWith);
  if (printer === null) return null;
  const { scale, offsetMm } = sheetError(printer, printedWith);
  const hasOffset = paper.by !== 'density';
  const shifts = page.tags.map(({ cell, boxMm }) => {
    const wanted = isPrint ? page.grid.labelCorner(cell) : boxMm;
    return distance(printer.place(boxMm), wanted);
  });
  return {
    by: paper.by,
    scaleBy: paper.scaleBy,
    printer,
    scale,
    offsetMm: hasOffset ? offsetMm : null,
    worstShiftMm: hasOffset ? Math.max(...shifts) : null,
    correction: isPrint && hasOffset ? correctionFor(printer) : null,
  };
}

/** @param plane from the picture to where lengths are true */
function gradeOne(
  { picture }: View,
  page: PrintedPage,
  pose: PlaneMap,
  plane: PlaneMap,
  { tag, symbol, registration }: Registered,
): GradedSymbol {
  const toPicture = inverted(pose);
  const [a, b, , d] = ownCorners(symbol);
  /** From shares of the symbol's own width and height to the picture. */
  const at = (across: number, down: number): Point =>
    seenAt(toPicture, registration, {
      x: a.x + across * (b.x - a.x) + down * (d.x - a.x),
      y: a.y + across * (b.y - a.y) + down * (d.y - a.y),
    });
  const modules = distance(a, b) / symbol.moduleMm;
  const pxPerModule = distance(at(0, 0.5), at(1, 0.5)) / modules;
  const graded = { tag, kind: symbol.kind, pxPerModule };
  if (pxPerModule < LEAST_PX_PER_MODULE) return { ...graded, grade: null };
  if (symbol.kind === 'code128') {
    const seen = (along: number, down: number) => at(along / modules, down);
    return { ...graded, grade: gradeCode128(picture, symbol.text, { seen, pxPerModule }) };
  }
  const onPlane = (across: number, down: number) => mapPoint(plane, at(across, down));
  const [width, height] = [
    distance(onPlane(0, 0.5), onPlane(1, 0.5)),
    distance(onPlane(0.5, 0), onPlane(0.5, 1)),
  ];
  const blocks = blocksOf(symbol).map((block) =>
    blockOffset(picture, page.picture, pose, registration, block, symbol.moduleMm),
  );
  const geometry = {
    seen: (column: number, row: number) => at(column / modules, row / modules),
    pxPerModule,
    axial: Math.abs(width - height) / ((width + height) / 2),
    grid: Math.max(0, ...blocks.map((offset) => offset ?? 0)) / symbol.moduleMm,
  };
  return { ...graded, grade: gradeQr(picture, symbol.text, symbol.level ?? 'H', geometry) };
}

/** Three by three, each of some modules: what the evenness of the grid is measured on. */
function blocksOf({ boxMm: { x, y, width, height } }: PrintedSymbol) {
  return [0, 1, 2].flatMap((row) =>
    [0, 1, 2].map((column) => ({
      x: x + (column * width) / 3,
      y: y + (row * height) / 3,
      width: width / 3,
      height: height / 3,
    })),
  );
}

/** Nothing is wrong with the page, as far as could be seen. */
export function isSound({
  missing,
  unreadable,
  misplaced,
  doubles,
  strangers,
  measured,
}: PageProof): boolean {
  const allThere = [missing, unreadable, misplaced, doubles, strangers].every((list) => list.length === 0);
  return allThere && measured !== null && isTrue(measured);
}

export function isTrue({ worstShiftMm }: Measured): boolean {
  return worstShiftMm !== null && worstShiftMm <= TOLERANCE_MM;
}
