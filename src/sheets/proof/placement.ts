/**
 * Which found symbol stands for which printed one, by the cell it lies in: tags in place, in a wrong
 * cell, double, foreign, and those of which nothing was read.
 */
import type { Cell, CellGrid } from './cell-grid.js';
import { centroid, distance, mapPoint, type PlaneMap, type Point } from './projective.js';
import { cornersOf, type PrintedPage, type PrintedSymbol, type PrintedTag } from './reference.js';
import { type FoundSymbol, middleOf } from './symbols.js';

/** A found symbol on the page: `at` in mm, where the pose has its middle. */
export interface LocatedSymbol extends FoundSymbol {
  /** `K7FY5.1`; null for what is no tag. */
  readonly name: string | null;
  readonly at: Point;
  readonly cell: Cell | null;
}

interface SymbolInPlace {
  readonly symbol: PrintedSymbol;
  /** Null where it was not read. */
  readonly found: LocatedSymbol | null;
}

export interface TagInPlace {
  readonly tag: PrintedTag;
  readonly symbols: readonly SymbolInPlace[];
  /** Every symbol of it was read; any at all where the kept page does not tell where its symbols are. */
  readonly isRead: boolean;
}

export interface Placement {
  /** Every printed tag with what was found of it in its own cell. */
  readonly tags: readonly TagInPlace[];
  /** Tags of this page in the cell of another, of which nothing is in their own. */
  readonly misplaced: readonly { readonly tag: PrintedTag; readonly found: LocatedSymbol }[];
  /** Tags of this page found once more than they were printed. */
  readonly doubles: readonly { readonly tag: PrintedTag; readonly found: LocatedSymbol }[];
  /** Symbols that are not of this page. */
  readonly strangers: readonly LocatedSymbol[];
}

export function locate(
  found: readonly FoundSymbol[],
  pose: PlaneMap,
  grid: CellGrid,
  nameOf: (text: string) => string | null,
): LocatedSymbol[] {
  const located = found.map((symbol) => {
    const at = mapPoint(pose, middleOf(symbol));
    return { ...symbol, name: nameOf(symbol.text), at, cell: grid.cellAt(at) };
  });
  // A closer look finds again what was seen before.
  return located.filter(
    (symbol, index) =>
      !located
        .slice(0, index)
        .some((other) => isSameKind(symbol, other) && distance(symbol.at, other.at) < SAME_MM),
  );
}

/** Two symbols of one text are nowhere printed so near to each other. */
const SAME_MM = 3;

const isSameKind = (a: LocatedSymbol, b: LocatedSymbol): boolean => a.kind === b.kind && a.text === b.text;

export function placeSymbols(
  page: PrintedPage,
  located: readonly LocatedSymbol[],
  nameOfTag: (tag: PrintedTag) => string,
): Placement {
  const free = new Set(located);
  const take = (tag: PrintedTag, symbol: PrintedSymbol): LocatedSymbol | null => {
    const middle = centroid(cornersOf(symbol.boxMm));
    let best: LocatedSymbol | null = null;
    for (const found of free) {
      const isIts =
        found.kind === symbol.kind && found.name === nameOfTag(tag) && isSameCell(found.cell, tag.cell);
      if (isIts && (best === null || distance(found.at, middle) < distance(best.at, middle))) best = found;
    }
    if (best !== null) free.delete(best);
    return best;
  };
  const takeAny = (tag: PrintedTag): boolean => {
    const own = [...free].filter(({ name, cell }) => name === nameOfTag(tag) && isSameCell(cell, tag.cell));
    for (const found of own) free.delete(found);
    return own.length > 0;
  };
  const tags = page.tags.map((tag) => {
    const symbols = tag.symbols.map((symbol) => ({ symbol, found: take(tag, symbol) }));
    const isRead = symbols.length > 0 ? symbols.every(({ found }) => found !== null) : takeAny(tag);
    return { tag, symbols, isRead };
  });
  const misplaced: { tag: PrintedTag; found: LocatedSymbol }[] = [];
  const doubles: { tag: PrintedTag; found: LocatedSymbol }[] = [];
  const strangers: LocatedSymbol[] = [];
  /** Printed tags that still want a place, each given away once. */
  const absent = new Map<string, PrintedTag[]>();
  for (const { tag, symbols, isRead } of tags) {
    if (isRead || symbols.some(({ found }) => found !== null)) continue;
    absent.set(nameOfTag(tag), [...(absent.get(nameOfTag(tag)) ?? []), tag]);
  }
  const byName = new Map(page.tags.map((tag) => [nameOfTag(tag), tag]));
  for (const group of groupedByCell(free)) {
    const [found] = group;
    const tag = found.name === null ? undefined : byName.get(found.name);
    const wanting = found.name === null ? undefined : absent.get(found.name)?.shift();
    if (tag === undefined) strangers.push(...group);
    else if (wanting === undefined) doubles.push({ tag, found });
    else misplaced.push({ tag: wanting, found });
  }
  return { tags, misplaced, doubles, strangers };
}

/** The symbols of one tag in one cell count as one. */
function groupedByCell(symbols: Iterable<LocatedSymbol>): (readonly [LocatedSymbol, ...LocatedSymbol[]])[] {
  const groups = new Map<string, [LocatedSymbol, ...LocatedSymbol[]]>();
  for (const symbol of symbols) {
    const { cell, name, text, at } = symbol;
    const place = cell === null ? `${at.x} ${at.y}` : `${cell.row} ${cell.column}`;
    const key = `${name ?? text} ${place}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [symbol]);
    else group.push(symbol);
  }
  return [...groups.values()];
}

export function isSameCell(a: Cell | null, b: Cell): boolean {
  return a !== null && a.row === b.row && a.column === b.column;
}
