import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { countLineEnds, decodeText, lineAt } from '../../src/plants/decode.js';
import { encode } from './tables.js';

const TEXT = 'key;Mère;Größe\r\nA1;Ambre;3 €\r\n';

function refusal(bytes: Uint8Array): InputError {
  try {
    decodeText(bytes, 'plants.csv');
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

describe('the encodings of spreadsheets and text editors', () => {
  test.each([
    ['UTF-8', 'UTF-8'],
    ['UTF-8 BOM', 'UTF-8'],
    ['UTF-16 LE BOM', 'UTF-16 LE'],
    ['UTF-16 BE BOM', 'UTF-16 BE'],
    ['UTF-16 LE', 'UTF-16 LE'],
    ['UTF-16 BE', 'UTF-16 BE'],
  ] as const)('%s is read, without its byte-order mark', (form, encoding) => {
    expect(decodeText(encode(TEXT, form), 'plants.csv')).toEqual({ text: TEXT, encoding });
  });

  test('the 32 bytes in which Windows-1252 differs from Latin-1 are read as the WHATWG index has them', () => {
    // Source: WHATWG Encoding Standard, index-windows-1252, pointers 0 to 31.
    const index = [
      0x20ac, 0x81, 0x201a, 0x192, 0x201e, 0x2026, 0x2020, 0x2021, 0x2c6, 0x2030, 0x160, 0x2039, 0x152, 0x8d,
      0x17d, 0x8f, 0x90, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x2dc, 0x2122, 0x161, 0x203a,
      0x153, 0x9d, 0x17e, 0x178,
    ];
    const bytes = Uint8Array.from({ length: 32 }, (_, offset) => 0x80 + offset);
    expect(decodeText(bytes, 'plants.csv')).toEqual({
      text: String.fromCharCode(...index),
      encoding: 'Windows-1252',
    });
  });

  test('German, French and Spanish text in Windows-1252', () => {
    const bytes = Buffer.from('Sämling;Größe;ñ;é à ç;\x93zitiert\x94;5 \x80\n', 'latin1');
    expect(decodeText(bytes, 'plants.csv')).toEqual({
      text: 'Sämling;Größe;ñ;é à ç;“zitiert”;5 €\n',
      encoding: 'Windows-1252',
    });
  });

  test('UTF-16 of a script other than Latin is known by its delimiters and figures', () => {
    const text = 'ключ;мать;отец;посев\r\nА-1;Янтарь;Сумрак;2026\r\n';
    expect(decodeText(encode(text, 'UTF-16 LE'), 'plants.csv')).toEqual({ text, encoding: 'UTF-16 LE' });
    expect(decodeText(encode(text, 'UTF-16 BE'), 'plants.csv')).toEqual({ text, encoding: 'UTF-16 BE' });
  });

  test('bytes that are a view into a larger buffer are read within their bounds', () => {
    const whole = Buffer.from('XXXXkey;\xe9\nYYYY', 'latin1');
    expect(decodeText(whole.subarray(4, 10), 'plants.csv').text).toBe('key;é\n');
  });
});

describe('what is no CSV', () => {
  test.each([
    ['a zip', [0x50, 0x4b, 3, 4, 20, 0], /spreadsheet program's own file/],
    ['an old spreadsheet', [0xd0, 0xcf, 0x11, 0xe0, 0xa1], /older spreadsheet/],
    ['a PDF', [...Buffer.from('%PDF-1.7\n')], /a PDF/],
    ['a picture', [0x89, 0x50, 0x4e, 0x47, 13, 10], /a picture/],
    ['nothing', [], /empty/],
    ['a lone byte-order mark', [0xef, 0xbb, 0xbf], /empty/],
    ['blank lines', [...Buffer.from('\r\n \r\n')], /empty/],
    ['binary', [1, 2, 0, 0, 3, 0, 0, 0, 9], /NUL character in line 1/],
  ])('%s is refused and told to be saved as CSV', (_, bytes, message) => {
    const error = refusal(Uint8Array.from(bytes));
    expect(error).toMatchObject({ code: 'not-csv', place: { file: 'plants.csv' } });
    expect(error.message).toMatch(message);
    expect(error.hint).toMatch(/as CSV/);
  });

  test('a NUL in a text file is named by its line', () => {
    expect(refusal(Buffer.from(`key\r\n${'A1 and more\r\n'.repeat(20)}A\0\r\n`)).place.line).toBe(22);
  });
});

describe('damaged text', () => {
  test.each(['UTF-16 LE BOM', 'UTF-16 BE', 'UTF-16 LE'] as const)(
    '%s cut inside a unit is refused',
    (form) => {
      const error = refusal(encode(TEXT.trimEnd(), form).subarray(0, -1));
      expect(error).toMatchObject({ code: 'damaged-text', place: { line: 2 } });
    },
  );

  test('UTF-16 cut between two surrogates is refused', () => {
    expect(refusal(encode('key\nA🌱', 'UTF-16 LE BOM').subarray(0, -2)).code).toBe('damaged-text');
  });

  test('UTF-8 cut inside a character is not taken for Windows-1252', () => {
    const cut = Buffer.from('key;Mère\nÉté;Forêt é').subarray(0, -1);
    expect(refusal(cut)).toMatchObject({ code: 'damaged-text', place: { line: 2 } });
  });
});

test('lines end with CRLF, LF or a lone CR', () => {
  const text = 'a\r\nb\nc\rd\n\re';
  expect(countLineEnds(text)).toBe(5);
  expect([...'abcde'].map((letter) => lineAt(text, text.indexOf(letter)))).toEqual([1, 2, 3, 4, 6]);
});
