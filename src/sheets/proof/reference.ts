/**
 * What was printed: the sheets a ledger keeps, which page of them a picture shows, and where on that
 * page every symbol is.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { QrLevel } from '../../codes/qr.js';
import { InputError, LedgerError } from '../../errors.js';
import { SHEETS_FOLDER } from '../../ledger/folders.js';
import type { Ledger } from '../../ledger/ledger.js';
import type { PrintedSheet, SheetTag } from '../../ledger/model.js';
import { type Box, contains, overlap, type Turn } from '../geometry.js';
import type { Stock, SymbolKind } from '../stock.js';
import { type Cell, type CellGrid, makeGrid } from './cell-grid.js';
import { openPdf, type PagePicture, type PdfPages } from './pdf-pages.js';
import { centroid } from './projective.js';
import { symbolExtent } from './symbol-extent.js';
import { type FoundSymbol, keyOf, readPart, readSheet, type TagName, tagNamed } from './symbols.js';

/** The kept page is drawn at this resolution, at which a module has at least three pixels. */
export const REFERENCE_DPI = 300;

/** A symbol as drawn: mm from the page's top left. */
export interface PrintedSymbol {
  readonly kind: SymbolKind;
  readonly text: string;
  readonly boxMm: Box;
  readonly turn: Turn;
  readonly moduleMm: number;
  /** Of a QR code; null for a Code 128. */
  readonly level: QrLevel | null;
}

/** A tag in its cell; a tag printed in several copies is several of these. */
export interface PrintedTag extends TagName {
  readonly cell: Cell;
  /** The cell's place on the page. */
  readonly boxMm: Box;
  /** More than one where both kinds were printed or the label has several faces. */
  readonly symbols: readonly PrintedSymbol[];
}

/** How far a symbol may leave its cell, as places are rounded to dots, mm. */
const CELL_SLACK_MM = 0.3;

export interface PrintedPage {
  readonly sheet: PrintedSheet;
  /** From 1. */
  readonly number: number;
  /** Every page is one label. */
  readonly isRoll: boolean;
  readonly picture: PagePicture;
  readonly grid: CellGrid;
  readonly tags: readonly PrintedTag[];
  /** Every symbol read in the picture of the page. */
  readonly read: readonly FoundSymbol[];
}

/** A sheet as the ledger has it. */
interface RecordedSheet {
  readonly sheet: PrintedSheet;
  /** In several copies named once. */
  readonly tags: readonly SheetTag[];
}

export class PrintedSheets {
  readonly #opened = new Map<string, PdfPages>();
  readonly #recorded = new Map<string, RecordedSheet | undefined>();

  constructor(
    readonly ledger: Ledger,
    readonly loadStock: (name: string) => Stock,
  ) {}

  /** The sheet kept under this file name. */
  async sheet(file: string): Promise<RecordedSheet | undefined> {
    if (!this.#recorded.has(file)) {
      const sheet = await this.ledger.sheet(file);
      this.#recorded.set(file, sheet && { sheet, tags: await this.ledger.sheetTags(file) });
    }
    return this.#recorded.get(file);
  }

  /**
   * The page that these tags stand on: the one that has most of them; of several the one with fewest
   * other tags (a reprint), then the one printed last. Null when they stand on none.
   */
  async findPage(
    found: readonly TagName[],
    file?: string,
  ): Promise<{ readonly file: string; readonly page: number } | null> {
    const files = file === undefined ? await this.ledger.sheetsWith(found.map(({ id }) => id)) : [file];
    const sheets: RecordedSheet[] = [];
    for (const name of files) sheets.push(...[await this.sheet(name)].filter((one) => one !== undefined));
    sheets.sort((a, b) => a.sheet.printedAt.localeCompare(b.sheet.printedAt));
    const keys = new Set(found.map(keyOf));
    let best: { file: string; page: number; hits: number; others: number } | null = null;
    for (const { sheet, tags } of sheets) {
      const pages = new Map<number, { hits: number; others: number }>();
      for (const tag of tags) {
        const page = pages.get(tag.page) ?? { hits: 0, others: 0 };
        if (keys.has(keyOf(tag))) page.hits++;
        else page.others++;
        pages.set(tag.page, page);
      }
      for (const [page, { hits, others }] of pages) {
        if (hits === 0) continue;
        const isBetter = best === null || hits > best.hits || (hits === best.hits && others <= best.others);
        if (isBetter) best = { file: sheet.file, page, hits, others };
      }
    }
    return best;
  }

  async page(file: string, number: number): Promise<PrintedPage> {
    const entry = await this.sheet(file);
    if (entry === undefined) throw new RangeError(`no sheet ${file}`);
    let pdf = this.#opened.get(file);
    if (pdf === undefined) {
      pdf = await openPdf(readKept(join(this.ledger.folder, SHEETS_FOLDER, file)), REFERENCE_DPI);
      this.#opened.set(file, pdf);
    }
    const picture = await pdf.page(number);
    const { sheet } = entry;
    const stock = this.loadStock(sheet.stock);
    const grid = makeGrid(stock, sheet);
    const recorded = entry.tags.filter((tag) => tag.page === number);
    const { tags, read } = await this.#tagsDrawn(picture, recorded, grid, sheet.stock);
    return { sheet, number, isRoll: stock.page.kind === 'roll', picture, grid, tags, read };
  }

  close(): void {
    for (const pdf of this.#opened.values()) pdf.close();
  }

  async #tagsDrawn(
    picture: PagePicture,
    recorded: readonly SheetTag[],
    grid: CellGrid,
    stock: string,
  ): Promise<Pick<PrintedPage, 'tags' | 'read'>> {
    const byPlace = new Map<string, PrintedTag & { symbols: PrintedSymbol[] }>();
    const place = (tag: TagName, cell: Cell): { symbols: PrintedSymbol[] } => {
      const name = `${keyOf(tag)} ${cell.row} ${cell.column}`;
      let known = byPlace.get(name);
      if (known === undefined) {
        known = { id: tag.id, issue: tag.issue, cell, boxMm: grid.boxOf(cell), symbols: [] };
        byPlace.set(name, known);
      }
      return known;
    };
    for (const tag of recorded) place(tag, { row: tag.row, column: tag.column });
    const read: FoundSymbol[] = [];
    const take = (found: readonly FoundSymbol[]): void => {
      read.push(...found);
      for (const symbol of found) {
        const tag = tagNamed(symbol.text, this.ledger.idLength);
        const drawn = tag && drawnSymbol(picture, symbol);
        const cell = drawn && grid.cellAt(centroid(cornersOf(drawn.boxMm)));
        // Copies of a tag are not recorded one by one: they are found here.
        if (tag === null || drawn === null) continue;
        if (cell === null || !contains(grid.boxOf(cell), drawn.boxMm, CELL_SLACK_MM)) {
          throw stockChanged(stock);
        }
        const { symbols } = place(tag, cell);
        if (!symbols.some(({ boxMm }) => overlap(boxMm, drawn.boxMm))) symbols.push(drawn);
      }
    };
    take(await readSheet(picture));
    const pxPerMm = picture.width / picture.widthMm;
    const unread = () => [...byPlace.values()].filter(({ symbols }) => symbols.length === 0);
    for (const { boxMm } of unread()) take(await readPart(picture, pixels(boxMm, pxPerMm)));
    const drawn = new Set([...byPlace.values()].flatMap((tag) => (tag.symbols.length > 0 ? keyOf(tag) : [])));
    if (unread().some((tag) => drawn.has(keyOf(tag)))) throw stockChanged(stock);
    const tags = [...byPlace.values()].sort(
      (a, b) => a.cell.row - b.cell.row || a.cell.column - b.cell.column,
    );
    return { tags, read };
  }
}

export function cornersOf({ x, y, width, height }: Box) {
  return [
    { x, y },
    { x: x + width, y },
    { x: x + width, y: y + height },
    { x, y: y + height },
  ] as const;
}

function pixels({ x, y, width, height }: Box, pxPerMm: number) {
  return {
    left: x * pxPerMm,
    top: y * pxPerMm,
    right: (x + width) * pxPerMm,
    bottom: (y + height) * pxPerMm,
  };
}

function drawnSymbol(picture: PagePicture, symbol: FoundSymbol): PrintedSymbol | null {
  const extent = symbolExtent(picture, symbol);
  if (extent === null) return null;
  const mmPerPxX = picture.widthMm / picture.width;
  const mmPerPxY = picture.heightMm / picture.height;
  const { box } = extent;
  return {
    kind: symbol.kind,
    text: symbol.text,
    turn: extent.turn,
    level: extent.level,
    moduleMm: extent.modulePx * mmPerPxX,
    boxMm: {
      x: box.x * mmPerPxX,
      y: box.y * mmPerPxY,
      width: box.width * mmPerPxX,
      height: box.height * mmPerPxY,
    },
  };
}

function readKept(path: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (cause) {
    throw new LedgerError(
      'damaged',
      `The printed sheet kept as ${path} cannot be read.`,
      'Put the file back from a backup of the ledger; pottag check says what else is missing.',
      { cause },
    );
  }
}

function stockChanged(stock: string): InputError {
  return new InputError(
    'stock-changed',
    `The tags of this sheet do not lie in the cells that stock "${stock}" has now.`,
    'Put the stock file back as it was when the sheet was printed; give changed ones a new name.',
  );
}
