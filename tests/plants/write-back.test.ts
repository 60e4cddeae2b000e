import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type ReadOptions, readPlantRows } from '../../src/plants/rows.js';
import { csvWithIds } from '../../src/plants/write-back.js';
import { cell, form, writeTable } from './tables.js';

const OPTIONS: ReadOptions = { columns: new Map(), today: '2026-11-25', file: 'plants.csv' };

function write(
  text: string,
  ids: Readonly<Record<number, string>>,
  columns: ReadOptions['columns'] = new Map(),
) {
  const { source } = readPlantRows(Buffer.from(text), { ...OPTIONS, columns });
  return csvWithIds(source, new Map(Object.entries(ids).map(([line, id]) => [Number(line), id])));
}

describe('the IDs', () => {
  test('go into a new first column', () => {
    expect(write('key;mother\r\nA1;Amber\r\nA2;Dusk\r\n', { 2: 'K7FY5', 3: 'ZZZ7R' })).toBe(
      'id;key;mother\r\nK7FY5;A1;Amber\r\nZZZ7R;A2;Dusk\r\n',
    );
  });

  test('beside columns without a heading, which get the name that they go by, for their place changes', () => {
    const written = write('key,,,lot\nA1,x,,L1\n', { 2: 'K7FY5' });
    expect(written).toBe('id,key,column 2,,lot\nK7FY5,A1,x,,L1\n');
    expect(readPlantRows(Buffer.from(written), OPTIONS).rows[0]?.fields.extra).toEqual({
      'column 2': 'x',
      lot: 'L1',
    });
  });

  test('go into the column there is, also of a short row', () => {
    expect(write('key,note,ID\nA1,x,\nA2\nA3,,K7FY5\n', { 2: 'ZZZ7R', 3: 'K7FQQ' })).toBe(
      'key,note,ID\nA1,x,ZZZ7R\nA2,,K7FQQ\nA3,,K7FY5\n',
    );
  });

  test("a grower's own ID column stays theirs, and the new one reads back as the ID", () => {
    const columns = new Map([['key', 'ID']]);
    const written = write('ID,mother\nA1,Amber\n', { 2: 'K7FY5' }, columns);
    expect(written).toBe('plant_id,ID,mother\nK7FY5,A1,Amber\n');
    expect(readPlantRows(Buffer.from(written), { ...OPTIONS, columns }).rows).toMatchObject([
      { id: 'K7FY5', fields: { key: 'A1' } },
    ]);
  });
});

describe('the rest', () => {
  test('rows with problems, cells beyond the headings, blank rows and headings stay in their lines', () => {
    const text = 'sep=;\n\n"Tag\nno";note;\n;no key;\n;;\nA1;"a;b";\nA1;twice;x;y;\n\nA2; z ;\n';
    expect(write(text, { 7: 'K7FY5' })).toBe(
      'sep=;\n\nid;"Tag\nno";note;column 3\n;;no key;\n\nK7FY5;A1;"a;b";\n;A1;twice;x;y;\n\n;A2;" z ";\n',
    );
  });

  test('quotes are doubled, also those of an unquoted cell', () => {
    expect(write('key,pot\nA1,6" clay\n', { 2: 'K7FY5' })).toBe('id,key,pot\nK7FY5,A1,"6"" clay"\n');
  });
});

test('any table reads back as the same rows and problems in the same lines, with their IDs', () => {
  const headings = ['key', 'mother', 'note', 'sown', 'Height', 'Leaf, form'];
  const key = fc.oneof(fc.stringMatching(/^[A-C][0-9]?$/), cell);
  const row = fc.tuple(key, cell, cell, fc.constantFrom('', '2026', '3/4/2026', 'x'), cell, cell, cell);
  const rows = fc.array(
    row.chain((cells) => fc.integer({ min: 1, max: cells.length }).map((count) => cells.slice(0, count))),
    { maxLength: 8 },
  );
  let withRows = 0;
  const run = fc.property(rows, form, (body, as) => {
    const first = readPlantRows(Buffer.from(writeTable([headings, ...body], as)), OPTIONS);
    const idOfLine = new Map(first.rows.map(({ line }) => [line, `ID${line}`]));
    const again = readPlantRows(Buffer.from(`\uFEFF${csvWithIds(first.source, idOfLine)}`), OPTIONS);
    expect(again.rows).toEqual(first.rows.map((row) => ({ ...row, id: `ID${row.line}` })));
    expect(again.problems).toEqual(first.problems);
    if (first.rows.length > 0) withRows++;
  });
  fc.assert(run, { seed: 20261125, numRuns: 3000 });
  expect(withRows).toBeGreaterThan(1000);
});
