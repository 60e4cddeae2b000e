/** Labels on sheets, tags or others: makes the PDF and says where on it everything is. */
import { MM_PER_INCH } from '../codes/module-fit.js';
import { type QrLevel, qrText } from '../codes/qr.js';
import { InputError } from '../errors.js';
import { Composer, type Composition, type Tag, type TextField } from './compose.js';
import { Content } from './content.js';
import { type Face, facesDots } from './faces.js';
import { type Box, contains, type Turn, turnedInto } from './geometry.js';
import { DotPdf, showText } from './pdf.js';
import { DPI, type Stock, type SymbolChoice, type SymbolKind } from './stock.js';
import type { SymbolDrawing } from './symbol-drawing.js';
import { describeCharacter, Typesetter } from './typesetter.js';

export type { Tag } from './compose.js';

export interface SheetOptions {
  readonly symbol: SymbolChoice;
  /** Cell of the first sheet to start in, from 1, row by row: for a sheet used before. */
  readonly firstCell: number;
  /** Prints of each tag, one after the other. */
  readonly copies: number;
  /** Dots per inch of the printer; absent: the stock's. */
  readonly dpi?: number;
  /** Error correction of a QR code that holds a link; a tag text is always at level H. */
  readonly level?: QrLevel;
  /** Printer calibration: the places of the cells are scaled about the page's corner, then moved. */
  readonly nudgeMm: { readonly x: number; readonly y: number };
  readonly scale: number;
  /** Date of the document; equal input with an equal date gives equal bytes. */
  readonly madeAt: Date;
  readonly title?: string;
  /** Called after every page. */
  readonly onProgress?: (doneCount: number, wholeCount: number) => void;
}

/** Millimetres from the page's top left, as drawn: after rounding to dots, nudge and scale. */
export interface PlacedSymbol {
  readonly kind: SymbolKind;
  readonly text: string;
  readonly moduleMm: number;
  readonly quietMm: number;
  /** The symbol itself, without quiet zone. */
  readonly boxMm: Box;
}

/** What goes into a cell. */
export interface Label {
  /** What people call it. */
  readonly id: string;
  /** What its QR code holds. */
  readonly text: string;
}

/** Puts a label on a face. */
export interface LabelComposer<L extends Label> {
  compose(label: L, face: Face): Composition;
}

export interface PlacedLabel<L extends Label> {
  readonly label: L;
  /** From 1, like row and column. */
  readonly page: number;
  readonly cell: { readonly row: number; readonly column: number };
  /** The whole cell. */
  readonly boxMm: Box;
  readonly symbols: readonly PlacedSymbol[];
}

export interface PlacedTag extends Omit<PlacedLabel<Tag>, 'label'> {
  readonly id: string;
  readonly issue: number;
  readonly text: string;
}

export interface Shortened {
  readonly id: string;
  readonly field: TextField;
  readonly full: string;
  /** Empty when there was no room for any of it. */
  readonly shown: string;
}

/** A character that no font has and that is drawn as a box. */
interface MissingGlyph {
  readonly character: string;
  /** For people: `Han character 樱 (U+6A31)`. */
  readonly name: string;
  /** The first tag with it, and how many tags have it. */
  readonly firstId: string;
  readonly tagCount: number;
}

export interface Drawn {
  readonly pdf: Uint8Array;
  readonly pageCount: number;
  readonly shortened: readonly Shortened[];
  readonly missingGlyphs: readonly MissingGlyph[];
}

export interface Sheets extends Drawn {
  readonly placed: readonly PlacedTag[];
}

/**
 * Draws tags on a stock, row by row, page by page.
 *
 * Throws `InputError`: `no-tags`, `bad-first-cell`, `bad-copies`, `bad-dpi`, `off-the-page` (nudge or
 * scale), `symbol-does-not-fit`, `text-too-long`, `not-ascii`.
 */
export async function renderSheets(
  stock: Stock,
  tags: readonly Tag[],
  options: SheetOptions,
): Promise<Sheets> {
  const { placed, ...drawn } = await renderLabels(stock, tags, textsOf(tags), options, (typesetter, dpi) => {
    return new Composer(stock, options.symbol, dpi, options.level ?? 'H', typesetter);
  });
  return {
    ...drawn,
    placed: placed.map(({ label, ...place }) => ({
      id: label.id,
      issue: label.issue,
      text: qrText(label.text),
      ...place,
    })),
  };
}

/**
 * Draws labels of any kind; throws as `renderSheets` does.
 * @param texts all that is to be written on them, for the fonts
 */
export async function renderLabels<L extends Label>(
  stock: Stock,
  labels: readonly L[],
  texts: Iterable<string>,
  options: SheetOptions,
  composerFor: (typesetter: Typesetter, dpi: number) => LabelComposer<L>,
): Promise<Drawn & { readonly placed: readonly PlacedLabel<L>[] }> {
  checkOptions(stock, labels, options);
  const dpi = options.dpi ?? stock.dpi;
  const typesetter = await Typesetter.open(texts);
  const page = pageGeometry(stock, dpi, options);
  const pdf = await DotPdf.create(typesetter, options.title ?? `Tags on ${stock.name}`, options.madeAt, dpi);
  const drawer = new LabelDrawer(composerFor(typesetter, dpi), typesetter, page.faces);

  const content = new Content();
  const placed: PlacedLabel<L>[] = [];
  const cellCount = stock.cells.columns * stock.cells.rows;
  const wholeCount = labels.length * options.copies;
  let slot = options.firstCell - 1;
  let pageCount = 0;
  for (let done = 0; done < wholeCount; ) {
    content.add(pdf.pageSpace(page.heightDots));
    pageCount++;
    for (; slot < cellCount && done < wholeCount; slot++, done++) {
      const label = labels[Math.floor(done / options.copies)] as L;
      const row = Math.floor(slot / stock.cells.columns);
      const column = slot % stock.cells.columns;
      const origin = page.origin(row, column);
      content.add(`q 1 0 0 1 ${origin.x} ${origin.y} cm\n`);
      const symbols = drawer.draw(label, content);
      content.add('Q\n');
      placed.push({
        label,
        page: pageCount,
        cell: { row: row + 1, column: column + 1 },
        boxMm: page.mm({ ...origin, ...page.cell }),
        symbols: symbols.map((symbol) => ({
          kind: symbol.kind,
          text: symbol.text,
          moduleMm: roundMm((symbol.moduleDots * MM_PER_INCH) / dpi),
          quietMm: roundMm((symbol.quietDots * MM_PER_INCH) / dpi),
          boxMm: page.mm({ ...symbol.box, x: origin.x + symbol.box.x, y: origin.y + symbol.box.y }),
        })),
      });
    }
    slot = 0;
    await pdf.addPage(page.widthDots, page.heightDots, content);
    options.onProgress?.(placed.length, wholeCount);
  }
  return {
    pdf: await pdf.save(),
    pageCount,
    placed,
    shortened: drawer.shortened,
    missingGlyphs: drawer.missingGlyphs,
  };
}

/** Draws the labels of one document into their cells, and keeps what could not be shown. */
class LabelDrawer<L extends Label> {
  readonly shortened: Shortened[] = [];
  readonly #missing = new Map<number, { firstId: string; lastId: string; tagCount: number }>();
  #last: L | null = null;

  constructor(
    readonly composer: LabelComposer<L>,
    readonly typesetter: Typesetter,
    readonly faces: readonly Face[],
  ) {}

  /** Draws all faces in dots from the cell's top left, and says where their symbols are. */
  draw(label: L, content: Content): readonly SymbolDrawing[] {
    const compositions = this.faces.map((face) => {
      const composition = this.composer.compose(label, face);
      content.add(`q ${placement(face)} cm\n`);
      this.#drawFace(label, composition, content);
      content.add('Q\n');
      return composition;
    });
    // Faces of a label say the same, and so do its copies.
    if (label !== this.#last) {
      for (const shortened of compositions[0]?.shortened ?? [])
        this.shortened.push({ id: label.id, ...shortened });
      this.#last = label;
    }
    return compositions.flatMap(({ symbols }, index) => {
      const face = this.faces[index] as Face;
      return symbols.map((symbol) => ({ ...symbol, box: turnedInto(face.box, face.turn, symbol.box) }));
    });
  }

  get missingGlyphs(): MissingGlyph[] {
    return [...this.#missing].map(([codePoint, { firstId, tagCount }]) => ({
      character: String.fromCodePoint(codePoint),
      name: describeCharacter(codePoint),
      firstId,
      tagCount,
    }));
  }

  #drawFace(label: L, composition: Composition, content: Content): void {
    for (const { x, y, unitDots, rectangles } of composition.symbols) {
      content.add(`q ${unitDots} 0 0 ${unitDots} ${x} ${y} cm\n`);
      content.fillRectangles(rectangles);
      content.add('Q\n');
    }
    for (const { text, weight, sizeDots, x, y, turn } of composition.texts) {
      const set = this.typesetter.set(text, weight);
      content.add(showText(set, sizeDots, x, y, turn));
      for (const codePoint of set.missing) this.#countMissing(codePoint, label.id);
    }
  }

  #countMissing(codePoint: number, id: string): void {
    const known = this.#missing.get(codePoint);
    if (known === undefined) this.#missing.set(codePoint, { firstId: id, lastId: id, tagCount: 1 });
    else if (known.lastId !== id) {
      known.lastId = id;
      known.tagCount++;
    }
  }
}

/** The transformation from a face's own top left to where the face is, and how it is turned, in the cell. */
function placement({ box, turn }: Face): string {
  const right = box.x + box.width;
  const bottom = box.y + box.height;
  const corner = { 0: [box.x, box.y], 90: [right, box.y], 180: [right, bottom], 270: [box.x, bottom] }[turn];
  return `${CLOCKWISE[turn]} ${corner.join(' ')}`;
}

const CLOCKWISE: Readonly<Record<Turn, string>> = {
  0: '1 0 0 1',
  90: '0 1 -1 0',
  180: '-1 0 0 -1',
  270: '0 -1 1 0',
};

function pageGeometry(stock: Stock, dpi: number, { nudgeMm, scale }: SheetOptions) {
  const dots = (mm: number) => Math.round((mm * dpi) / MM_PER_INCH);
  const mm = (value: number) => roundMm((value * MM_PER_INCH) / dpi);
  const { cells } = stock;
  return {
    widthDots: dots(stock.page.width_mm),
    heightDots: dots(stock.page.height_mm),
    cell: { width: dots(cells.width_mm), height: dots(cells.height_mm) },
    faces: facesDots(stock, dpi),
    /** Rows and columns from 0. Each origin is rounded by itself, so that errors do not add up. */
    origin: (row: number, column: number) => ({
      x: dots((cells.left_mm + column * cells.pitch_x_mm) * scale + nudgeMm.x),
      y: dots((cells.top_mm + row * cells.pitch_y_mm) * scale + nudgeMm.y),
    }),
    mm: (box: Box): Box => ({ x: mm(box.x), y: mm(box.y), width: mm(box.width), height: mm(box.height) }),
  };
}

function checkOptions(stock: Stock, labels: readonly Label[], options: SheetOptions): void {
  if (labels.length === 0) {
    throw new InputError(
      'no-tags',
      'There are no tags to print.',
      'Choose plants that have none yet, or more of them.',
    );
  }
  const cellCount = stock.cells.columns * stock.cells.rows;
  if (!Number.isInteger(options.firstCell) || options.firstCell < 1 || options.firstCell > cellCount) {
    throw new InputError(
      'bad-first-cell',
      `First cell ${options.firstCell} is not on stock "${stock.name}".`,
      `Give a whole number from 1 to ${cellCount}; cells count row by row.`,
    );
  }
  if (!Number.isInteger(options.copies) || options.copies < 1 || options.copies > 1000) {
    throw new InputError(
      'bad-copies',
      `${options.copies} is no number of copies.`,
      'Give a whole number from 1 to 1000.',
    );
  }
  const dpi = options.dpi ?? stock.dpi;
  if (!Number.isInteger(dpi) || dpi < DPI.least || dpi > DPI.largest) {
    throw new InputError(
      'bad-dpi',
      `${dpi} dots per inch is no printer's resolution.`,
      `Give a whole number from ${DPI.least} to ${DPI.largest}; 203, 300 and 600 are usual.`,
    );
  }
  const page = pageGeometry(stock, dpi, options);
  const sheet = { x: 0, y: 0, width: page.widthDots, height: page.heightDots };
  const first = page.origin(0, 0);
  const last = page.origin(stock.cells.rows - 1, stock.cells.columns - 1);
  const leaves = page.faces.some(({ box }) =>
    [first, last].some((origin) => !contains(sheet, { ...box, x: origin.x + box.x, y: origin.y + box.y })),
  );
  if (leaves) {
    throw new InputError(
      'off-the-page',
      `With nudge ${options.nudgeMm.x},${options.nudgeMm.y} mm and scale ${options.scale} tags leave the page of stock "${stock.name}".`,
      'Check the sign and the unit of the nudge (mm, right and down) and that the scale is near 1.',
    );
  }
}

function* textsOf(tags: readonly Tag[]): Iterable<string> {
  for (const tag of tags) {
    for (const text of [tag.cross, tag.sown, tag.key, tag.origin]) if (text !== null) yield text;
  }
}

/** To the micrometre, which is finer than any dot and keeps the JSON short. */
function roundMm(mm: number): number {
  return Math.round(mm * 1000) / 1000;
}
