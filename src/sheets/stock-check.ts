/** Everything that is wrong with a stock file, at once and in the file's own words. */
import { dotsAtLeast, MM_PER_INCH } from '../codes/module-fit.js';
import type { Problem } from '../errors.js';
import { arrange } from './arrange.js';
import { boxOf, facesDots, facesMm } from './faces.js';
import { type Box, overlap, turnedSize } from './geometry.js';
import { type Stock, stockSchema } from './stock.js';
import { problemsOf } from './stock-issues.js';
import { readableStock } from './stock-partial.js';
import { usualNeeds } from './what-fits.js';

/** Stock files give hundredths of a millimetre; sums of them are trusted to this. */
const SLACK_MM = 0.02;

/**
 * The stock that a parsed file describes, undefined where its keys or values are wrong, and all of its problems;
 * none: it can be used. `column` is the path of the key.
 */
export function checkStock(json: unknown): {
  readonly stock: Stock | undefined;
  readonly problems: Problem[];
} {
  const { data, error } = stockSchema.safeParse(json);
  const problems = error === undefined ? [] : problemsOf(error);
  const readable = error === undefined ? data : readableStock(json, error);
  if (readable !== undefined) problems.push(...geometryProblems(readable));
  return { stock: data, problems };
}

/** What is NaN in the stock is not known: no check complains of it. */
function geometryProblems(stock: Stock): Problem[] {
  const faceGeometry = [...shapeProblems(stock), ...faceProblems(stock)];
  // Where the faces are wrong, what fits them says nothing.
  const symbols = faceGeometry.length > 0 ? [] : symbolProblems(stock);
  return [...cellProblems(stock), ...faceGeometry, ...symbols];
}

function cellProblems({ page, cells }: Stock): Problem[] {
  const problems: Problem[] = [];
  if (cells.columns > 1 && cells.pitch_x_mm < cells.width_mm - SLACK_MM) {
    problems.push(
      problem(
        'cells.pitch_x_mm',
        `is ${cells.pitch_x_mm}, less than width_mm ${cells.width_mm}: cells overlap`,
      ),
    );
  }
  if (cells.rows > 1 && cells.pitch_y_mm < cells.height_mm - SLACK_MM) {
    problems.push(
      problem(
        'cells.pitch_y_mm',
        `is ${cells.pitch_y_mm}, less than height_mm ${cells.height_mm}: cells overlap`,
      ),
    );
  }
  const right = cells.left_mm + (cells.columns - 1) * cells.pitch_x_mm + cells.width_mm;
  const bottom = cells.top_mm + (cells.rows - 1) * cells.pitch_y_mm + cells.height_mm;
  if (right > page.width_mm + SLACK_MM) {
    problems.push(
      problem(
        'cells',
        `the last column ends at ${mm(right)} mm, the page at ${page.width_mm} mm: cells leave the page`,
      ),
    );
  }
  if (bottom > page.height_mm + SLACK_MM) {
    problems.push(
      problem(
        'cells',
        `the last row ends at ${mm(bottom)} mm, the page at ${page.height_mm} mm: cells leave the page`,
      ),
    );
  }
  if (cells.corner_mm > Math.min(cells.width_mm, cells.height_mm) / 2) {
    problems.push(problem('cells.corner_mm', `is ${cells.corner_mm}, more than half the cell`));
  }
  if (page.kind === 'roll' && (cells.columns > 1 || cells.rows > 1)) {
    problems.push(problem('cells', 'a roll has one label a page: columns and rows must be 1'));
  }
  return problems;
}

function shapeProblems(stock: Stock): Problem[] {
  const problems: Problem[] = [];
  const cell = cellBox(stock);
  stock.no_print.forEach((zone, index) => {
    if (leaves(cell, boxOf(zone))) problems.push(problem(`no_print.${index}`, 'leaves the cell'));
  });
  const zone = shapeZone(stock);
  if (zone === null) return problems;
  if (leaves(cell, zone)) problems.push(problem('shape', `the ${stock.shape.kind} leaves the cell`));
  else if (stock.no_print.every((noPrint) => leaves(boxOf(noPrint), zone))) {
    problems.push(problem('no_print', `the ${stock.shape.kind} must lie wholly in one of these zones`));
  }
  return problems;
}

function faceProblems(stock: Stock): Problem[] {
  const problems: Problem[] = [];
  if (stock.faces.length === 0 && !isKnown([cellBox(stock), stock.safe_inset_mm, stock.no_print])) return [];
  const faces = facesMm(stock);
  if (faces.length === 0) return [problem('no_print', 'with safe_inset_mm leaves no room to print on')];
  const inset = stock.safe_inset_mm;
  const cell = cellBox(stock);
  const safe = {
    x: inset,
    y: inset,
    width: cell.width - 2 * inset,
    height: cell.height - 2 * inset,
  };
  faces.forEach(({ box }, index) => {
    const path = stock.faces.length === 0 ? 'safe_inset_mm' : `faces.${index}`;
    if (leaves(safe, box)) {
      problems.push(problem(path, `leaves the cell less its safe inset of ${inset} mm`));
    }
    stock.no_print.forEach((zone, zoneIndex) => {
      if (overlap(box, boxOf(zone), SLACK_MM)) {
        problems.push(problem(path, `lies over no_print.${zoneIndex} (${zone.why})`));
      }
    });
    faces.slice(index + 1).forEach((other, offset) => {
      if (overlap(box, other.box, SLACK_MM)) {
        problems.push(problem(path, `overlaps faces.${index + 1 + offset}`));
      }
    });
  });
  return problems;
}

/** A stock must take at least a version 1 QR code, the tags' own symbol. */
function symbolProblems(stock: Stock): Problem[] {
  const { cells, safe_inset_mm, no_print, faces, dpi, least_module_mm } = stock;
  const room = faces.length > 0 ? faces : [cells.width_mm, cells.height_mm, safe_inset_mm, no_print];
  if (!isKnown([room, dpi, least_module_mm])) return [];
  return facesDots(stock, stock.dpi).flatMap((face) => {
    const room = turnedSize(face);
    const fits = (moduleDots: number) =>
      arrange(room, {
        ...usualNeeds(stock, 'qr'),
        leastMm: { ...stock.least_module_mm, qr: (moduleDots * MM_PER_INCH) / stock.dpi },
      }) !== null;
    const least = dotsAtLeast(stock.least_module_mm.qr, stock.dpi);
    if (fits(least)) return [];
    let module = least;
    while (module > 0 && !fits(module)) module--;
    const size = `a face of ${mm(face.box.width * (MM_PER_INCH / stock.dpi))} × ${mm(face.box.height * (MM_PER_INCH / stock.dpi))} mm`;
    const remedy =
      module === 0
        ? 'nor with any smaller module'
        : `a module of ${((module * MM_PER_INCH) / stock.dpi).toFixed(3)} mm (${module} dots at ${stock.dpi} dpi) would fit`;
    return [
      problem(
        'least_module_mm.qr',
        `${size} cannot hold a version 1 QR code with frame and ID at ${stock.least_module_mm.qr} mm; ${remedy}`,
      ),
    ];
  });
}

/** What a hole or a tip takes away, as a rectangle of the cell. */
function shapeZone({ shape, cells }: Stock): Box | null {
  switch (shape.kind) {
    case 'rectangle':
      return null;
    case 'punch hole': {
      const { x_mm, y_mm, diameter_mm } = shape;
      return {
        x: x_mm - diameter_mm / 2,
        y: y_mm - diameter_mm / 2,
        width: diameter_mm,
        height: diameter_mm,
      };
    }
    case 'pointed tip': {
      const { edge, length_mm } = shape;
      const upright = edge === 'top' || edge === 'bottom';
      return {
        x: edge === 'right' ? cells.width_mm - length_mm : 0,
        y: edge === 'bottom' ? cells.height_mm - length_mm : 0,
        width: upright ? cells.width_mm : length_mm,
        height: upright ? length_mm : cells.height_mm,
      };
    }
  }
}

/** Whether `inner` is known to reach out of `outer`. */
function leaves(outer: Box, inner: Box): boolean {
  return (
    inner.x < outer.x - SLACK_MM ||
    inner.y < outer.y - SLACK_MM ||
    inner.x + inner.width > outer.x + outer.width + SLACK_MM ||
    inner.y + inner.height > outer.y + outer.height + SLACK_MM
  );
}

/** Whether there is a value for every number in it. */
function isKnown(value: unknown): boolean {
  if (typeof value === 'object' && value !== null) return Object.values(value).every(isKnown);
  return !Number.isNaN(value);
}

function cellBox({ cells }: Stock): Box {
  return { x: 0, y: 0, width: cells.width_mm, height: cells.height_mm };
}

function problem(column: string, text: string): Problem {
  return { line: null, column: column === '' ? null : column, problem: text };
}

function mm(value: number): string {
  return String(Math.round(value * 100) / 100);
}
