import { expect, test } from 'vitest';
import { fixedPattern, qrLayout } from '../../../src/sheets/proof/qr-layout.js';

/** ISO/IEC 18004, Annex I: `01234567`, version 1-M, mask 010; rows of 21 modules, dark is 1. */
const ROWS =
  '1FCB7F 104F41 17505D 17585D 17575D 105141 1FD57F 001300 17C97C 02B52C 046A9F 01083C 03F290 0017CC 1FCD60 1057C5 17512C 175920 175694 104036 1FDE94';
const CODEWORDS = '10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11 A5 24 D4 C1 ED 36 C7 87 2C 55';

test("the standard's own symbol, unmasked, holds its codewords where the layout says", () => {
  const rows = ROWS.split(' ').map((hex) => Number.parseInt(hex, 16));
  // Mask 010: column mod 3 = 0 (ISO/IEC 18004, table 10).
  const bit = (module: number): number => {
    const [row, column] = [Math.floor(module / 21), module % 21];
    return (((rows[row] as number) >> (20 - column)) & 1) ^ (column % 3 === 0 ? 1 : 0);
  };
  const read = qrLayout(21)?.codewords.map((modules) =>
    modules
      .reduce((value, module) => 2 * value + bit(module), 0)
      .toString(16)
      .toUpperCase()
      .padStart(2, '0'),
  );
  expect(read?.join(' ')).toBe(CODEWORDS);
});

/** Total codewords 26, 44, 70, 100 and what level H repairs in a block (ISO/IEC 18004, table 9). */
test.each([
  { size: 21, codewords: 26, blocks: 1, repairs: 8 },
  { size: 25, codewords: 44, blocks: 1, repairs: 14 },
  { size: 29, codewords: 70, blocks: 2, repairs: 11 },
  { size: 33, codewords: 100, blocks: 4, repairs: 8 },
])('$size modules: $codewords codewords of eight modules, none of them twice', (form) => {
  const layout = qrLayout(form.size);
  const modules = layout?.codewords.flat() ?? [];
  expect(layout?.codewords.map((list) => list.length)).toEqual(Array(form.codewords).fill(8));
  expect(new Set(modules).size).toBe(8 * form.codewords);
  expect(modules.filter((at) => fixedPattern(Math.floor(at / form.size), at % form.size, form.size))).toEqual(
    [],
  );
  expect(layout).toMatchObject({ blocks: form.blocks, repairs: form.repairs });
});

test('larger versions have none', () => expect(qrLayout(37)).toBeNull());
