import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { parseCsv } from '../../src/plants/csv.js';
import { decodeText } from '../../src/plants/decode.js';
import { cell, type EncodingForm, encode, form, NEWLINES, writeTable } from './tables.js';

function parse(text: string) {
  return parseCsv(text, 'plants.csv');
}

function cellsOf(text: string) {
  const { headings, records } = parse(text);
  return [headings, ...records.map(({ cells }) => cells)];
}

function refusal(text: string): InputError {
  try {
    parse(text);
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

const ENCODINGS: readonly EncodingForm[] = ['UTF-8', 'UTF-8 BOM', 'UTF-16 LE BOM', 'UTF-16 BE BOM'];

/** Line ends as an editor counts them; written apart from the code under test. */
function linesTaken(text: string): number {
  return text.split(/\r\n|\r|\n/).length;
}

test('any table in any form comes back cell for cell, with the line of each row', () => {
  const table = fc
    .integer({ min: 1, max: 5 })
    .chain((width) =>
      fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 8 }),
    );
  const run = fc.property(table, form, fc.constantFrom(...ENCODINGS), (rows, as, encoding) => {
    // A heading that looks like a separator line, or a first row that is blank, is another file.
    const headed = [rows[0]?.map((text, index) => `h${index}${text}`) ?? [], ...rows.slice(1)];
    const read = parse(decodeText(encode(writeTable(headed, as), encoding), 'plants.csv').text);
    const expected: { line: number; cells: string[] }[] = [];
    let line = as.separatorLine ? 2 : 1;
    for (const cells of headed) {
      if (cells.some((text) => text.trim() !== '')) expected.push({ line, cells });
      line += linesTaken(cells.join(' '));
    }
    expect(read.headings).toEqual(expected[0]?.cells);
    expect(read.headingLine).toBe(expected[0]?.line);
    expect(read.records).toEqual(expected.slice(1));
    expect(read.hasSeparatorLine).toBe(as.separatorLine);
    if (headed.length > 1 && (headed[0]?.length ?? 0) > 1) expect(read.newline).toBe(as.newline);
  });
  fc.assert(run, { seed: 20261125, numRuns: 3000 });
});

describe('delimiter', () => {
  test.each([
    ['comma', 'key,mother\nA1,Amber\n', ','],
    ['semicolon', 'key;mother\nA1;Amber\n', ';'],
    ['tab', 'key\tmother\nA1\tAmber\n', '\t'],
    ['semicolon with decimal commas', 'key;brix;g\nA1;18,5;40,2\nA2;17,0;38,8\n', ';'],
    ['semicolon with a comma in a heading', 'Name, given;brix\nA1;18,5\nA2;17,0\n', ';'],
    ['comma with semicolons in notes', 'key,note\nA1,green; ribbed; open\nA2,brown; round\n', ','],
    ['comma with tabs in notes', 'key,note\nA1,a\tb\nA2,c\td\n', ','],
    ['semicolon, with delimiters only in quoted headings', '"key, name";"a, b"\n"1, 2";"3, 4"\n', ';'],
    ['comma, with semicolons at the end of quoted cells', 'key,"a;b"\nA1,"c;d"\nA2,"e;f"\n', ','],
    ['semicolon with inches', 'key;pot;note\nA1;6";\nA2;7";\n', ';'],
    ['a last column without heading', 'key;mother\nA1;Amber;tall\nA2;Dusk;short, bent\n', ';'],
    ['short rows', 'key;mother;father;note\nA1\nA2;Amber\n', ';'],
    ['one column', 'key\nA1\nA2\n', ','],
    ['one column with semicolons in it', 'key\nbench 1; pot 2\n', ','],
    ['headings alone', 'key;mother\n', ';'],
  ])('%s', (_, text, delimiter) => {
    expect(parse(text).delimiter).toBe(delimiter);
  });

  test.each(['sep=;\r\n', 'SEP=;\n', '"sep=;"\r'])(
    'a first line %j is obeyed and is not a heading',
    (line) => {
      const table = parse(`${line}a,b;c\n1,2;3\n`);
      expect(table).toMatchObject({ delimiter: ';', headings: ['a,b', 'c'], headingLine: 2 });
      expect(table.records).toEqual([{ line: 3, cells: ['1,2', '3'] }]);
    },
  );

  test('a separator line may name another character', () => {
    expect(cellsOf('sep=|\na|b\n1|2\n')).toEqual([
      ['a', 'b'],
      ['1', '2'],
    ]);
  });
});

describe('lines', () => {
  test.each(NEWLINES)('rows that end with %j', (newline) => {
    const table = parse(
      ['key,note', 'A1,', '', ',,', '"A\n2","x\r\ny\rz"', ' ', 'A3,', '', ';', ''].join(newline),
    );
    expect(table.newline).toBe(newline);
    expect(table.records.map(({ line, cells }) => [line, cells[0]])).toEqual([
      [2, 'A1'],
      [5, 'A\n2'],
      // Three line ends stand inside the row before.
      [10, 'A3'],
      [12, ';'],
    ]);
  });

  test('mixed line ends each end a row', () => {
    expect(parse('key\nA1\r\nA2\rA3').records.map(({ line }) => line)).toEqual([2, 3, 4]);
  });

  test('the line end is that of the rows, not of a heading in two lines', () => {
    expect(parse('"Seed\nparent";key\r\n1;2\r\n').newline).toBe('\r\n');
  });

  test('blank rows above the headings are passed over', () => {
    expect(parse('\n;;\nkey;mother\nA1;Amber\n')).toMatchObject({
      headingLine: 3,
      headings: ['key', 'mother'],
    });
  });
});

describe('rows of other lengths', () => {
  test('blank cells beyond the headings are dropped, others kept', () => {
    expect(cellsOf('a;b\n1;2;;; \n1;2;;3\n1\n')).toEqual([
      ['a', 'b'],
      ['1', '2'],
      ['1', '2', '', '3'],
      ['1'],
    ]);
  });
});

describe('quotes', () => {
  test('a quote inside an unquoted cell is a character', () => {
    expect(cellsOf('key,pot\nA1,6" clay\n')[1]).toEqual(['A1', '6" clay']);
  });

  test.each([
    ['key,note\nA1,"never\nclosed\nA2,x\n', 'quote-not-closed', 2],
    ['key,note\nA1,x\nA2,"a ""b""\n', 'quote-not-closed', 3],
    ['key,note\r\n\r\nA1,"a" b\r\n', 'stray-quote', 3],
    ['key,note\nA1,"open\nA2,"x"\n', 'stray-quote', 2],
    ['sep=;\nkey;note\nA1;"a"b\n', 'stray-quote', 3],
    ['key,note\nA1,"a"\u0001\n', 'stray-quote', 2],
  ])('%j is refused as %s', (text, code, line) => {
    const error = refusal(text);
    expect(error).toMatchObject({ code, place: { file: 'plants.csv', line } });
    expect(error.hint).not.toBe('');
  });

  test('where the cell goes on is said if it is another line', () => {
    expect(refusal('key,note\nA1,"open\nA2,"x"\n').message).toMatch(/opens in line 2 .* in line 3/);
  });
});

test('a file of blank rows only has no headings', () => {
  expect(refusal(',,\n,,\n').code).toBe('no-headings');
});
