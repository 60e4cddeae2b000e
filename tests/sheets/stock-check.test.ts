import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { facesMm } from '../../src/sheets/faces.js';
import { contains } from '../../src/sheets/geometry.js';
import { stockSchema } from '../../src/sheets/stock.js';
import { checkStock } from '../../src/sheets/stock-check.js';
import { PLAIN, sheetsIfFit, shippedStocks, TAGS } from './samples.js';

/** A4, 24 labels of 64 × 33.9 mm. */
const SOUND = {
  name: 'mine',
  description: 'A4 sheet, 24 labels of 64 × 33.9 mm',
  page: { kind: 'sheet', width_mm: 210, height_mm: 297 },
  dpi: 600,
  cells: {
    ...{ columns: 3, rows: 8, left_mm: 6.5, top_mm: 12.9 },
    ...{ pitch_x_mm: 66.5, pitch_y_mm: 33.9, width_mm: 64, height_mm: 33.9 },
  },
};

function problems(change: (stock: typeof SOUND & Record<string, unknown>) => void): string[] {
  const stock = structuredClone(SOUND);
  change(stock);
  return checkStock(stock).problems.map(({ column, problem }) => `${column}: ${problem}`);
}

test('a sound stock has no problems', () => {
  expect(checkStock(SOUND)).toEqual({ stock: stockSchema.parse(SOUND), problems: [] });
});

test.each(shippedStocks)('$name is sound', (stock) => {
  expect(checkStock(stock).problems).toEqual([]);
  const { page, cells } = stock;
  // The block is centred, as blank sheets are made, to within what their makers round.
  const right = page.width_mm - cells.left_mm - (cells.columns - 1) * cells.pitch_x_mm - cells.width_mm;
  expect(Math.abs(right - cells.left_mm)).toBeLessThan(0.4);
});

test('at least twelve stocks ship, on two page sizes and on rolls of two resolutions', () => {
  expect(shippedStocks.length).toBeGreaterThanOrEqual(12);
  const pages = new Set(shippedStocks.map(({ page }) => (page.kind === 'roll' ? 'roll' : page.width_mm)));
  expect(pages).toEqual(new Set([210, 215.9, 'roll']));
  const rolls = shippedStocks.filter(({ page }) => page.kind === 'roll');
  expect(new Set(rolls.map(({ dpi }) => dpi))).toEqual(new Set([203, 300]));
});

describe('says what is wrong', () => {
  test('with what is no stock at all', () => {
    for (const json of [null, 3, 'stock', [], {}])
      expect(checkStock(json).problems.length).toBeGreaterThan(0);
  });

  test('in words for whoever wrote the file', () => {
    const found = problems((stock) => {
      Object.assign(stock, { description: '', dpi: 203.2, colour: 'white', no_print: 'none' });
      Object.assign(stock.page, { kind: 'card', width_mm: '210', height_mm: 0 });
      Object.assign(stock.cells, { rows: 300, corner_mm: -1 });
      Reflect.deleteProperty(stock.cells, 'columns');
    });
    expect(found.sort()).toEqual([
      'cells.columns: is missing: a number (without quotes) is needed',
      'cells.corner_mm: must be at least 0',
      'cells.rows: must be at most 200',
      'colour: is no key of a stock file: look for a slip',
      'description: must not be empty',
      'dpi: must be a whole number',
      'no_print: must be a list [ … ]',
      'page.height_mm: must be more than 0',
      'page.kind: must be one of sheet, roll',
      'page.width_mm: must be a number (without quotes)',
    ]);
  });

  test('with keys that are misspelt or missing', () => {
    const found = problems((stock) => {
      Reflect.deleteProperty(stock, 'dpi');
      stock.cells = { ...stock.cells, ...{ colums: 3 } };
    });
    expect(found.join('\n')).toMatch(/dpi: /);
    expect(found.join('\n')).toMatch(/cells\.colums: /);
  });

  test('when cells overlap and leave the page, all at once', () => {
    const found = problems((stock) => {
      stock.cells.pitch_x_mm = 60;
      stock.cells.rows = 9;
    });
    expect(found).toEqual([
      'cells.pitch_x_mm: is 60, less than width_mm 64: cells overlap',
      // 12.9 + 9 × 33.9.
      'cells: the last row ends at 318 mm, the page at 297 mm: cells leave the page',
    ]);
  });

  test('in its keys and in its geometry, all at once', () => {
    const found = problems((stock) => {
      Object.assign(stock, { colour: 'white', dpi: '600' });
      Object.assign(stock.cells, { pitch_x_mm: 60, corner_mm: -1, hight_mm: 33.9 });
      Reflect.deleteProperty(stock.cells, 'height_mm');
      stock.no_print = [{ x_mm: 60, y_mm: 0, width_mm: 10, height_mm: 'all', why: 'overlap' }];
      stock.shape = { kind: 'punch hole', x_mm: 1, y_mm: 17, diameter_mm: 5, depth_mm: 1 };
      stock.faces = [{ x_mm: 1, y_mm: 1, width_mm: 70, height_mm: 30 }];
    });
    expect(found.sort()).toEqual([
      'cells.corner_mm: must be at least 0',
      'cells.height_mm: is missing: a number (without quotes) is needed',
      'cells.hight_mm: is no key of a stock file: look for a slip',
      'cells.pitch_x_mm: is 60, less than width_mm 64: cells overlap',
      'colour: is no key of a stock file: look for a slip',
      'dpi: must be a number (without quotes)',
      'faces.0: leaves the cell less its safe inset of 1 mm',
      'no_print.0.height_mm: must be a number (without quotes)',
      'no_print.0: leaves the cell',
      'shape.depth_mm: is no key of a stock file: look for a slip',
      'shape: the punch hole leaves the cell',
    ]);
  });

  test('and nothing else: where one value is missing or wrong, no check takes it for another', () => {
    const whole = {
      ...SOUND,
      cells: { ...SOUND.cells, corner_mm: 2 },
      shape: { kind: 'punch hole', x_mm: 5, y_mm: 17, diameter_mm: 5 },
      safe_inset_mm: 1,
      no_print: [{ x_mm: 0, y_mm: 10, width_mm: 10, height_mm: 14, why: 'hole' }],
      faces: [{ x_mm: 11, y_mm: 1, width_mm: 52, height_mm: 31, turn: 0 }],
      least_module_mm: { qr: 0.5, code128: 0.25 },
    };
    expect(checkStock(whole).problems).toEqual([]);
    for (const path of pathsOf(whole)) {
      for (const wrong of [undefined, null, 'wrong', -1, [], {}]) {
        const broken = structuredClone(whole);
        setAt(broken, path, wrong);
        const { stock, problems } = checkStock(broken);
        if (stock !== undefined) continue;
        expect(problems.length).toBeGreaterThan(0);
        for (const { column, problem } of problems) {
          const said = `${path.join('.')} = ${JSON.stringify(wrong)}: ${column} ${problem}`;
          expect(column?.startsWith(path.join('.')), said).toBe(true);
        }
      }
    }
  });

  test('when a face lies over a zone that is not printed, another face, or the edge', () => {
    const found = problems((stock) => {
      stock.no_print = [{ x_mm: 40, y_mm: 0, width_mm: 10, height_mm: 33.9, why: 'overlap' }];
      stock.faces = [
        { x_mm: 1, y_mm: 1, width_mm: 40, height_mm: 30 },
        { x_mm: 20, y_mm: 1, width_mm: 44, height_mm: 30 },
      ];
    });
    expect(found).toEqual([
      'faces.0: lies over no_print.0 (overlap)',
      'faces.0: overlaps faces.1',
      'faces.1: leaves the cell less its safe inset of 1 mm',
      'faces.1: lies over no_print.0 (overlap)',
    ]);
  });

  test('when a hole is not kept free', () => {
    const found = problems((stock) => {
      stock.shape = { kind: 'punch hole', x_mm: 5, y_mm: 17, diameter_mm: 5 };
    });
    expect(found).toEqual(['no_print: the punch hole must lie wholly in one of these zones']);
  });

  test('when no QR code fits, and which module would', () => {
    const found = problems((stock) => {
      stock.cells.height_mm = 14;
    });
    // 12 mm are 283 dots; 31 modules of 9 dots are 279, of 12 dots (0.508 mm) 372.
    expect(found).toEqual([
      'least_module_mm.qr: a face of 61.98 × 11.98 mm cannot hold a version 1 QR code with frame and ID at ' +
        '0.5 mm; a module of 0.381 mm (9 dots at 600 dpi) would fit',
    ]);
  });

  test('when a roll has more than one label a page', () => {
    expect(problems((stock) => Object.assign(stock.page, { kind: 'roll' }))).toEqual([
      'cells: a roll has one label a page: columns and rows must be 1',
    ]);
  });
});

function pathsOf(value: unknown, path: readonly string[] = []): string[][] {
  if (typeof value !== 'object' || value === null) return [[...path]];
  const inner = Object.entries(value).flatMap(([key, part]) => pathsOf(part, [...path, key]));
  return path.length === 0 ? inner : [[...path], ...inner];
}

function setAt(value: object, path: readonly string[], to: unknown): void {
  const owner = path.slice(0, -1).reduce<unknown>((part, key) => Reflect.get(part as object, key), value);
  Reflect.set(owner as object, path.at(-1) as string, to);
}

/** Stocks as people write them: hundredths of a millimetre, margins that may or may not be right. */
const anyStock = fc
  .record({
    columns: fc.integer({ min: 1, max: 4 }),
    rows: fc.integer({ min: 1, max: 6 }),
    width: fc.integer({ min: 800, max: 10000 }),
    height: fc.integer({ min: 800, max: 10000 }),
    gap: fc.integer({ min: -50, max: 500 }),
    margin: fc.integer({ min: 0, max: 2000 }),
    inset: fc.integer({ min: 0, max: 300 }),
    dpi: fc.constantFrom(203, 300, 600),
    least: fc.constantFrom(0.25, 0.33, 0.5),
  })
  .map(({ columns, rows, width, height, gap, margin, inset, dpi, least }) => ({
    ...SOUND,
    dpi,
    cells: {
      columns,
      rows,
      left_mm: margin / 100,
      top_mm: margin / 100,
      pitch_x_mm: Math.max(1, width + gap) / 100,
      pitch_y_mm: Math.max(1, height + gap) / 100,
      width_mm: width / 100,
      height_mm: height / 100,
    },
    safe_inset_mm: inset / 100,
    least_module_mm: { qr: least, code128: 0.25 },
  }));

test('a random stock that is called sound prints, in its cells and on its page', async () => {
  let sound = 0;
  await fc.assert(
    fc.asyncProperty(anyStock, async (json) => {
      const { stock, problems } = checkStock(json);
      if (stock === undefined || problems.length > 0) return;
      sound++;
      const sheets = await sheetsIfFit(stock, TAGS.slice(0, 1), PLAIN);
      const page = { x: 0, y: 0, width: stock.page.width_mm, height: stock.page.height_mm };
      for (const { boxMm, symbols } of sheets?.placed ?? []) {
        expect(contains(page, boxMm, 0.1)).toBe(true);
        for (const symbol of symbols) expect(contains(boxMm, symbol.boxMm)).toBe(true);
      }
      expect(sheets, 'a sound stock holds a QR code').not.toBeNull();
      expect(facesMm(stock)).toHaveLength(1);
    }),
    { seed: 20261125, numRuns: 150 },
  );
  expect(sound).toBeGreaterThan(20);
});
