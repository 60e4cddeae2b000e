/** QR codes against ISO/IEC 18004 and what its originator publishes. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { BitMatrix } from '../../src/codes/bit-matrix.js';
import { bwipQr, type QrLevel } from '../../src/codes/bwip.js';
import { qrModules } from '../../src/codes/qr.js';
import { InputError } from '../../src/errors.js';

/**
 * ISO/IEC 18004's worked example, `01234567` in version 1-M under mask 010: rows of 21 modules as hex,
 * dark = 1. Its codewords are quoted on public Reed–Solomon pages; the placement was worked out from the
 * standard and agrees with two other encoders when mask and level are forced.
 */
const WORKED_EXAMPLE = (
  '1FCB7F 104F41 17505D 17585D 17575D 105141 1FD57F 001300 17C97C 02B52C 046A9F 01083C 03F290 0017CC ' +
  '1FCD60 1057C5 17512C 175920 175694 104036 1FDE94'
).split(' ');

test('the worked example of ISO/IEC 18004 comes out module for module', () => {
  const matrix = bwipQr('01234567', { level: 'M', version: 1, mask: 2 });
  expect(rowsOf(matrix)).toEqual(
    WORKED_EXAMPLE.map((hex) => Number.parseInt(hex, 16).toString(2).padStart(21, '0')),
  );
});

/** Format information of level H under masks 0 to 7, after the exclusive or (ISO/IEC 18004, 7.9). */
const FORMAT_H =
  '001011010001001 001001110111110 001110011100111 001100111010000 000011101100010 000001001010101 000110100001100 000100000111011';

test.each(FORMAT_H.split(' ').map((bits, mask) => ({ bits, mask })))(
  'mask $mask at level H carries format information $bits',
  ({ bits, mask }) => {
    const matrix = bwipQr('K7FY5.1', { level: 'H', version: 1, mask });
    // Around the upper left finder, most significant bit first (ISO/IEC 18004, figure 25).
    const places = [
      ...[0, 1, 2, 3, 4, 5, 7, 8].map((column) => [8, column] as const),
      ...[7, 5, 4, 3, 2, 1, 0].map((row) => [row, 8] as const),
    ];
    expect(places.map(([row, column]) => (matrix.dark(row, column) ? 1 : 0)).join('')).toBe(bits);
  },
);

/** Characters that versions 1 and 2 hold in alphanumeric and in byte mode (ISO/IEC 18004, table 7). */
const CAPACITIES: readonly [QrLevel, readonly [number, number], readonly [number, number]][] = [
  ['L', [25, 17], [47, 32]],
  ['M', [20, 14], [38, 26]],
  ['Q', [16, 11], [29, 20]],
  ['H', [10, 7], [20, 14]],
];

test.each(CAPACITIES)(
  'level %s holds what the capacity table says and not one more',
  (level, first, second) => {
    const size = (text: string) => bwipQr(text, { level }).size;
    for (const [index, character] of ['A', 'a'].entries()) {
      expect(size(character.repeat(first[index] ?? 0))).toBe(21);
      expect(size(character.repeat((first[index] ?? 0) + 1))).toBe(25);
      expect(size(character.repeat(second[index] ?? 0))).toBe(25);
      expect(size(character.repeat((second[index] ?? 0) + 1))).toBe(29);
    }
  },
);

/** Alphanumeric mode is 0010, nine bits of count follow; `AC-42` is the standard's example (7.4.4). */
test('AC-42 is coded as in ISO/IEC 18004, 7.4.4', () => {
  expect(dataBits(bwipQr('AC-42', { level: 'H', version: 1, mask: 0 }), 0, 41)).toBe(
    '0010 000000101 00111001110 11100111001 000010'.replaceAll(' ', ''),
  );
});

test('any tag text is version 1, level H, alphanumeric, also when it is all digits', () => {
  const character = fc.constantFrom(...'0123456789ABCDEFGHJKMNPQRSTVWXYZ');
  const texts = fc
    .tuple(fc.string({ unit: character, minLength: 5, maxLength: 7 }), fc.integer({ min: 1, max: 9999 }))
    .map(([id, issue]) => `${id}.${issue}`)
    .filter((text) => text.length <= 10);
  fc.assert(
    fc.property(fc.oneof(texts, fc.constantFrom('00000.1', '0000000.1', '12345.6789')), (text) => {
      const matrix = qrModules(text);
      expect(matrix.size).toBe(21);
      const bits = `0010${text.length.toString(2).padStart(9, '0')}`;
      expect(dataBits(matrix, 6, bits.length)).toBe(bits);
    }),
    { seed: 20261125, numRuns: 200 },
  );
});

test('a link in capitals takes the smallest version of alphanumeric mode', () => {
  // 33 characters: 3-H holds 35 alphanumeric ones, 24 bytes (ISO/IEC 18004, table 7).
  expect(qrModules('https://192.168.1.20:8443/K7FY5.1').size).toBe(29);
  // With a path of its own it must stay as it is: 4-H holds 34 bytes.
  expect(qrModules('https://192.168.1.20/figs/K7FY5.1').size).toBe(33);
  expect(qrModules('https://192.168.1.20:8443/K7FY5.1', 'L').size).toBe(25);
});

test('what no QR code holds is refused', () => {
  expect(() => qrModules(`https://host/${'x'.repeat(3000)}`)).toThrow(InputError);
  expect(() => qrModules('https://høst/K7FY5.1')).toThrow(/ASCII/);
});

function rowsOf(matrix: BitMatrix): string[] {
  return Array.from({ length: matrix.size }, (_, row) =>
    Array.from({ length: matrix.size }, (_, column) => (matrix.dark(row, column) ? '1' : '0')).join(''),
  );
}

/** Mask conditions by pattern (ISO/IEC 18004, table 10); i is the row, j the column. */
const MASKED: Readonly<Record<number, (i: number, j: number) => boolean>> = {
  0: (i, j) => (i + j) % 2 === 0,
  6: (i, j) => (((i * j) % 2) + ((i * j) % 3)) % 2 === 0,
};

/** The first data bits of a version 1 symbol: upward and downward in columns of two (7.7.3). */
function dataBits(matrix: BitMatrix, mask: number, count: number): string {
  let bits = '';
  for (let right = 20, upward = true; right > 0; right -= 2, upward = !upward) {
    if (right === 6) right--;
    for (let step = 0; step < 21; step++) {
      const row = upward ? 20 - step : step;
      for (const column of [right, right - 1]) {
        if (isFunction(row, column)) continue;
        bits += matrix.dark(row, column) !== (MASKED[mask]?.(row, column) ?? false) ? '1' : '0';
      }
    }
  }
  return bits.slice(0, count);
}

/** Finders with separators and format information, and the timing patterns. */
function isFunction(row: number, column: number): boolean {
  return (
    row === 6 ||
    column === 6 ||
    (row < 9 && column < 9) ||
    (row < 9 && column > 12) ||
    (row > 12 && column < 9)
  );
}
