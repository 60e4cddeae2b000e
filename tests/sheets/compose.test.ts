/** What a composition must hold on any face, whatever its tag says. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { Composer, type Composition, type TextDrawing } from '../../src/sheets/compose.js';
import { facesDots } from '../../src/sheets/faces.js';
import { type Box, contains, overlap, turnedSize } from '../../src/sheets/geometry.js';
import { type Stock, stockSchema } from '../../src/sheets/stock.js';
import { CAP_EM, Typesetter } from '../../src/sheets/typesetter.js';
import { SYMBOLS, shippedStocks, tag } from './samples.js';

const typesetter = await Typesetter.open(['Ж']);

const name = fc.oneof(
  fc.constantFrom('Aurelda', 'Черешня', 'Συκιά', 'Řehoř', '🌿', '無花果', 'ערב תאנים', 'W'.repeat(60), ''),
  fc.string({ unit: 'grapheme', maxLength: 80 }),
);

const anyTag = fc
  .record({
    id: fc.stringMatching(/^[0-9A-HJKMNP-TV-Z]{5,7}$/),
    issue: fc.integer({ min: 1, max: 99 }),
    cross: fc.option(fc.tuple(name, name).map(([seed, pollen]) => `${seed} × ${pollen}`)),
    key: fc.option(name),
    origin: fc.option(fc.constant('K7FY5')),
  })
  .map(({ id, issue, ...fields }) => tag(id, issue, fields));

const anyFace = fc.record({
  width_mm: fc.double({ min: 8, max: 200, noNaN: true }),
  height_mm: fc.double({ min: 8, max: 200, noNaN: true }),
  dpi: fc.constantFrom(203, 300, 600),
  least: fc.constantFrom(0.25, 0.5),
  symbol: fc.constantFrom(...SYMBOLS),
});

test('on random faces nothing leaves the face, meets a symbol with its quiet zone, or other text', () => {
  let fitted = 0;
  fc.assert(
    fc.property(anyFace, anyTag, ({ width_mm, height_mm, dpi, least, symbol }, someTag) => {
      const stock = oneCell(width_mm, height_mm, dpi, least);
      const [face] = facesDots(stock, dpi);
      if (face === undefined) throw new Error('a cell without inset has a face');
      const composer = new Composer(stock, symbol, dpi, 'H', typesetter);
      try {
        expectSound(composer.compose(someTag, face), { x: 0, y: 0, ...turnedSize(face) });
        fitted++;
      } catch (error) {
        if (!(error instanceof InputError && error.code === 'symbol-does-not-fit')) throw error;
        expect(error.hint).toMatch(/a larger stock/);
      }
    }),
    { seed: 20261125, numRuns: 600 },
  );
  expect(fitted).toBeGreaterThan(250);
});

test.each(shippedStocks)('so on $name', (stock) => {
  for (const symbol of SYMBOLS) {
    const composer = new Composer(stock, symbol, stock.dpi, 'H', typesetter);
    for (const face of facesDots(stock, stock.dpi)) {
      fc.assert(
        fc.property(anyTag, (someTag) => {
          try {
            expectSound(composer.compose(someTag, face), { x: 0, y: 0, ...turnedSize(face) });
          } catch (error) {
            if (!(error instanceof InputError && error.code === 'symbol-does-not-fit')) throw error;
          }
        }),
        { seed: 20261125, numRuns: 20 },
      );
    }
  }
});

test('a version 1 symbol has its frame one module thick around four modules of quiet zone: 31 in all', () => {
  const stock = oneCell(40, 20, 600, 0.5);
  const [face] = facesDots(stock, 600);
  if (face === undefined) throw new Error('no face');
  const [symbol] = new Composer(stock, 'qr', 600, 'H', typesetter).compose(tag('K7FY5', 1), face).symbols;
  expect(symbol?.rectangles.slice(0, 16)).toEqual([
    ...[0, 0, 31, 1],
    ...[0, 30, 31, 1],
    ...[0, 1, 1, 29],
    ...[30, 1, 1, 29],
  ]);
  expect((symbol?.box.width ?? 0) / (symbol?.moduleDots ?? 1)).toBe(21);
  expect((symbol?.box.x ?? 0) - (symbol?.x ?? 0)).toBe(5 * (symbol?.moduleDots ?? 0));
});

function expectSound({ symbols, texts }: Composition, face: Box): void {
  const blocks = symbols.map((symbol) => blockOf(symbol));
  const lines = texts.map((text) => inkOf(text));
  for (const [index, block] of blocks.entries()) {
    expect(contains(face, block), `block ${JSON.stringify(block)} leaves ${JSON.stringify(face)}`).toBe(true);
    for (const other of blocks.slice(index + 1)) expect(overlap(block, other)).toBe(false);
    for (const [at, line] of lines.entries()) {
      expect(overlap(block, line), `"${texts[at]?.text}" meets a symbol`).toBe(false);
    }
  }
  for (const [index, line] of lines.entries()) {
    // Type is set in whole dots; the last of them may be rounded over the edge.
    expect(contains(face, line, 2), `"${texts[index]?.text}" leaves the face`).toBe(true);
    for (const [offset, other] of lines.slice(index + 1).entries()) {
      const both = `"${texts[index]?.text}" and "${texts[index + 1 + offset]?.text}" overlap`;
      expect(overlap(line, other, 1), both).toBe(false);
    }
  }
}

/** All that was drawn for a symbol: its frame is outermost. */
function blockOf({ x, y, unitDots, rectangles }: Composition['symbols'][number]): Box {
  let right = 0;
  let bottom = 0;
  for (let at = 0; at < rectangles.length; at += 4) {
    right = Math.max(right, (rectangles[at] ?? 0) + (rectangles[at + 2] ?? 0));
    bottom = Math.max(bottom, (rectangles[at + 1] ?? 0) + (rectangles[at + 3] ?? 0));
  }
  return { x, y, width: right * unitDots, height: bottom * unitDots };
}

/** From the capitals' tops to the baseline, over the text's whole length. */
function inkOf({ text, weight, sizeDots, x, y, turn }: TextDrawing): Box {
  const length = typesetter.widthEm(text, weight) * sizeDots;
  const cap = CAP_EM * sizeDots;
  switch (turn) {
    case 0:
      return { x, y: y - cap, width: length, height: cap };
    case 90:
      return { x, y, width: cap, height: length };
    case 180:
      return { x: x - length, y, width: length, height: cap };
    case 270:
      return { x: x - cap, y: y - length, width: cap, height: length };
  }
}

function oneCell(width_mm: number, height_mm: number, dpi: number, least: number): Stock {
  return stockSchema.parse({
    name: 'random',
    description: 'one cell',
    page: { kind: 'sheet', width_mm, height_mm },
    dpi,
    cells: {
      ...{ columns: 1, rows: 1, left_mm: 0, top_mm: 0, width_mm, height_mm },
      ...{ pitch_x_mm: width_mm, pitch_y_mm: height_mm },
    },
    safe_inset_mm: 0.5,
    least_module_mm: { qr: least, code128: 0.25 },
  });
}
