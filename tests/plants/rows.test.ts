import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/errors.js';
import { type PlantFields, type ReadOptions, readPlantRows, shortRows } from '../../src/plants/rows.js';
import { encode } from './tables.js';

const OPTIONS: ReadOptions = { columns: new Map(), today: '2026-11-25', file: 'plants.csv' };

const UNKNOWN: Omit<PlantFields, 'key'> = {
  kind: 'seedling',
  seedParent: null,
  pollenParent: null,
  sown: null,
  origin: null,
  station: null,
  type: null,
  note: null,
  extra: {},
};

function read(text: string, options: Partial<ReadOptions> = {}) {
  return readPlantRows(Buffer.from(text), { ...OPTIONS, ...options });
}

function column(...overrides: readonly (readonly [string, string])[]): Partial<ReadOptions> {
  return { columns: new Map(overrides) };
}

/** The only row of a table of one row that has no problem. */
function fieldsOf(text: string, options: Partial<ReadOptions> = {}): PlantFields | undefined {
  const { rows, problems } = read(text, options);
  expect(problems).toEqual([]);
  expect(rows.length).toBe(1);
  return rows[0]?.fields;
}

function problemsOf(text: string, options: Partial<ReadOptions> = {}) {
  return read(text, options).problems.map(({ line, column, problem }) => `${line} ${column}: ${problem}`);
}

describe('a row', () => {
  test('of every field', () => {
    const text = [
      'id,key,seed_parent,pollen_parent,sown,kind,origin,station,type,note,Height',
      'K7FY5, North  bench 12 ,Amber,Dusk  Hill,2024-03,graft,P 1,bench 2 / row 3 / 7,Smyrna,tall,120 ',
    ].join('\n');
    expect(read(text)).toMatchObject({
      rows: [
        {
          line: 2,
          id: 'K7FY5',
          fields: {
            key: 'North bench 12',
            kind: 'graft',
            seedParent: 'Amber',
            pollenParent: 'Dusk Hill',
            sown: '2024-03',
            origin: 'P 1',
            station: 'bench 2 / row 3 / 7',
            type: 'caducous female',
            note: 'tall',
            extra: { Height: '120 ' },
          },
        },
      ],
      problems: [],
    });
  });

  test('of a key alone knows nothing else', () => {
    expect(read('key,mother,sown,Height\nA1\n').rows).toEqual([
      { line: 2, fields: { key: 'A1', ...UNKNOWN } },
    ]);
  });

  test('keeps the line ends of a note, as LF', () => {
    expect(fieldsOf('key,note\r\nA1," two\r\n\r\nlines "\r\n')?.note).toBe('two\n\nlines');
  });

  test('has its text in composed form', () => {
    expect(fieldsOf('key,mother,note\nE\u0301,E\u0301,E\u0301\n')).toMatchObject({
      key: 'É',
      seedParent: 'É',
      note: 'É',
    });
  });

  test('keeps every other cell that is not blank under its heading', () => {
    expect(fieldsOf('key,a,a,,b,__proto__\nA1,1,2,3, ,x\n')?.extra).toEqual(
      Object.fromEntries([
        ['a 1', '1'],
        ['a 2', '2'],
        ['column 4', '3'],
        ['__proto__', 'x'],
      ]),
    );
  });
});

describe('the parents', () => {
  test('are read from a cross', () => {
    expect(fieldsOf('key,cross\nA1,Amber x Dusk\n')).toMatchObject({
      seedParent: 'Amber',
      pollenParent: 'Dusk',
    });
    expect(fieldsOf('key,cross\nA1,Amber × ?\n')).toMatchObject({ seedParent: 'Amber', pollenParent: null });
    expect(fieldsOf('key,cross\nA1,\n')).toMatchObject({ seedParent: null, pollenParent: null });
  });

  test('a cross beside parents is kept as it is', () => {
    expect(fieldsOf('key,cross,mother\nA1,C-12,Amber\n')).toMatchObject({
      seedParent: 'Amber',
      pollenParent: null,
      extra: { cross: 'C-12' },
    });
  });

  test('a cross that is none is a problem', () => {
    expect(problemsOf('key,Cross\nA1,C-12\n')).toEqual([
      '2 Cross: "C-12" is not a cross of two parents: write it as "seed parent × pollen parent", or give --column cross= to keep the column as it is.',
    ]);
    expect(fieldsOf('key,Cross\nA1,C-12\n', column(['cross', '']))?.extra).toEqual({ Cross: 'C-12' });
  });
});

describe('the kind', () => {
  test('is a seedling, or a cutting if there is an origin', () => {
    expect(fieldsOf('key,kind,origin\nA1,,\n')?.kind).toBe('seedling');
    expect(fieldsOf('key,kind,origin\nA1,,P1\n')).toMatchObject({ kind: 'cutting', origin: 'P1' });
    expect(fieldsOf('key,kind,origin\nA1,Veredelung,P1\n')?.kind).toBe('graft');
    expect(fieldsOf('key,kind,origin\nA1,Steckling,\n')).toMatchObject({ kind: 'cutting', origin: null });
  });

  test('a seedling with an origin is a problem of the origin', () => {
    expect(problemsOf('key,kind,Taken from\nA1,seedling,P1\n')).toEqual([
      expect.stringMatching(/^2 Taken from: A seedling has no origin, but this one names "P1"/),
    ]);
  });
});

describe('problems', () => {
  test('all come in one pass, in the order of the lines, with the headings of the file', () => {
    const long = 'k'.repeat(201);
    const text = [
      'Tag;Mutter;Gesät am;Art der Pflanze;Typ;ID',
      'A1;Amber;2024;Sämling;;K7FY5',
      ';Amber;2024;;;',
      'A1;Amber;31.02.2024;Strauch;Zwerg;k7fy5',
      '"A\u00072";;;;;',
      `${long};;;;;`,
      'A3;;;;;;;extra',
      'A4;;03.04.2024;;;',
    ].join('\n');
    const found = read(text, column(['kind', 'Art der Pflanze']));
    expect(found.rows.map(({ line }) => line)).toEqual([2]);
    expect(found.problems.map(({ line, column }) => [line, column])).toEqual([
      [3, 'Tag'],
      [4, 'Tag'],
      [4, 'ID'],
      [4, 'Gesät am'],
      [4, 'Art der Pflanze'],
      [4, 'Typ'],
      [5, 'Tag'],
      [6, 'Tag'],
      [7, null],
      [8, 'Gesät am'],
    ]);
    expect(found.problems.map(({ problem }) => problem)).toEqual([
      'The key is empty: give the plant its own unique name, or delete the row.',
      '"A1" is the key in line 2 too: give each plant its own, or delete a row.',
      '"k7fy5" is the ID in line 2 too: leave it where it belongs, and empty the other cell.',
      expect.stringMatching(/^"31.02.2024" is no day of the calendar/),
      '"Strauch" is not a kind of plant: write seedling, cutting, graft, parent, or nothing.',
      expect.stringMatching(
        /^"Zwerg" is not a type of fig: write "female" or "caprifig".*--column type= to leave the column out\.$/,
      ),
      '"A\\x072" holds a control character: type the key anew.',
      `"${'k'.repeat(60)}…" has more than 200 characters: shorten the key.`,
      expect.stringMatching(/^The row goes on after the last heading \("extra"\)/),
      expect.stringMatching(/3 April 2024 \(--dates dmy\) or 4 March 2024 \(--dates mdy\)/),
    ]);
  });

  test('short are the rows that end before the last heading that says something', () => {
    const short = (text: string) => shortRows(readPlantRows(Buffer.from(text), OPTIONS).source);
    expect(short('key,station,note\na,bench 1,x\nb\n\n"c\nd",bench 2\ne,,\n')).toEqual([3, 5]);
    expect(short('key,station,,\na,bench 1\n')).toEqual([]);
  });

  test('keys are the same if they differ only in white space or in how an accent is coded', () => {
    expect(problemsOf('key\nE\u0301 1\n\u00C9  1\n')).toEqual([
      '3 key: "É 1" is the key in line 2 too: give each plant its own, or delete a row.',
    ]);
    expect(problemsOf('key\na1\nA1\n')).toEqual([
      expect.stringMatching(/^3 key: "A1".*capital letters alone/),
    ]);
  });

  test('200 characters are a key, whatever their code points', () => {
    expect(problemsOf(`key\n${'🌱'.repeat(200)}\n`)).toEqual([]);
    expect(problemsOf(`key\n${'🌱'.repeat(201)}\n`).length).toBe(1);
  });

  test('a type that is a kind is told to be read as one', () => {
    expect(problemsOf('key,Type\nA1,cutting\n')[0]).toMatch(/give --column kind="Type" to read it/);
    expect(fieldsOf('key,Type\nA1,cutting\n', column(['kind', 'Type']))).toMatchObject({
      kind: 'cutting',
      type: null,
    });
  });

  test('dates are read in the order that is asked for', () => {
    const text = 'key,sown\nA1,03/04/2026\nA2,25/04/2026\n';
    expect(read(text, { dates: 'dmy' }).rows.map(({ fields }) => fields.sown)).toEqual([
      '2026-04-03',
      '2026-04-25',
    ]);
    expect(problemsOf(text, { dates: 'mdy' })).toEqual([expect.stringMatching(/^3 sown: "25\/04\/2026"/)]);
    expect(problemsOf(text)).toEqual([
      expect.stringMatching(/^2 sown: .*"25\/04\/2026" in line 3 can only be dmy/),
    ]);
  });
});

describe('progress', () => {
  test('is told as rows are read, and at the end', () => {
    const told: [number, number][] = [];
    const text = `key\n${Array.from({ length: 4500 }, (_, n) => `A${n}`).join('\n')}\n`;
    read(text, { onProgress: (done, of) => told.push([done, of]) });
    expect(told).toEqual([
      [2000, 4500],
      [4000, 4500],
      [4500, 4500],
    ]);
  });
});

describe('files as people have them', () => {
  test('a German spreadsheet: Windows-1252, semicolons, decimal commas, a heading in two lines, empty rows', () => {
    const text = [
      '"Etikett-\nNr.";Mutter;Vater;Ausgesät am;Höhe;Bemerkung;;',
      'S-01;Dämmer;Größling;25.04.2026;12,5;"krumm, aber\nkräftig";;',
      'S-02;Dämmer;Größling;25.04.2026;9,0;;;',
      ';;;;;;;',
      'S-03;Dämmer;;28.04.2026;;6" Topf;;',
      ';;;;;;;',
      ';;;;;;;',
      '',
    ].join('\r\n');
    const { rows, problems, source } = readPlantRows(Buffer.from(text, 'latin1'), OPTIONS);
    expect(problems).toEqual([]);
    expect(source).toMatchObject({ encoding: 'Windows-1252', table: { delimiter: ';', newline: '\r\n' } });
    expect(rows.map(({ line, fields }) => [line, fields.key, fields.sown, fields.note])).toEqual([
      [3, 'S-01', '2026-04-25', 'krumm, aber\nkräftig'],
      [5, 'S-02', '2026-04-25', null],
      [7, 'S-03', '2026-04-28', '6" Topf'],
    ]);
    expect(rows[0]?.fields).toMatchObject({
      seedParent: 'Dämmer',
      pollenParent: 'Größling',
      extra: { Höhe: '12,5' },
    });
  });

  test('"Unicode text": UTF-16 with tabs', () => {
    const text = 'Plant\t♀\t♂\tDate sown\r\nN 1\tAmbré\tŽluť\t3-Apr-26\r\n';
    for (const form of ['UTF-16 LE BOM', 'UTF-16 LE', 'UTF-16 BE'] as const) {
      expect(readPlantRows(encode(text, form), OPTIONS).rows).toEqual([
        {
          line: 2,
          fields: { key: 'N 1', ...UNKNOWN, seedParent: 'Ambré', pollenParent: 'Žluť', sown: '2026-04-03' },
        },
      ]);
    }
  });

  test('an American export: sep line, byte-order mark, all quoted, dates with midnight', () => {
    const text =
      '\uFEFFsep=,\r\n"Tag #","Female","Male","Date Sown"\r\n"A-1","Amber, pale","Dusk","4/25/2026 12:00:00 AM"\r\n';
    expect(read(text).rows).toEqual([
      {
        line: 3,
        fields: {
          key: 'A-1',
          ...UNKNOWN,
          seedParent: 'Amber, pale',
          pollenParent: 'Dusk',
          sown: '2026-04-25',
        },
      },
    ]);
  });

  test('an old text file: lone carriage returns, no end of line at the end', () => {
    expect(
      read('Pot,Parents\r12,Amber × Dusk\r\r13,Amber × ?').rows.map(({ line, fields }) => [line, fields.key]),
    ).toEqual([
      [2, '12'],
      [4, '13'],
    ]);
  });

  test('a title above the headings is told to be deleted', () => {
    expect(() => read('Seedlings 2026;;\nTag;Mother\nA1;Amber\n')).toThrowError(
      expect.objectContaining({ code: 'no-key', hint: expect.stringMatching(/lines above the headings/) }),
    );
  });

  test('very many headings over very many short rows do not fill the memory', () => {
    const headings = Array.from({ length: 20_000 }, (_, n) => `m${n}`).join(',');
    const { rows } = read(
      `key,${headings}\n${Array.from({ length: 20_000 }, (_, n) => `A${n}`).join('\n')}\n`,
    );
    expect(rows.length).toBe(20_000);
  });
});

describe('whatever the bytes', () => {
  /** Reads, or refuses with an InputError; anything else fails the test. Returns whether it read. */
  function survives(bytes: Uint8Array): boolean {
    try {
      const { rows, problems, source } = readPlantRows(bytes, OPTIONS);
      const lines = new Set([...rows, ...problems].map(({ line }) => line));
      expect(lines.size).toBe(source.table.records.length);
      return true;
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      expect(error.hint).not.toBe('');
      return false;
    }
  }

  const sample =
    'Tag;Mother;Father;Sown;Kind;Type;Note\r\nA1;Amber;Dusk;25.04.2026;seedling;;"a ""b""\r\nc"\r\n"A2";Ämber;;2026;cutting;Smyrna;é\r\n';

  test('of a file with some of them changed, inserted or lost', () => {
    const forms = ['UTF-8', 'UTF-8 BOM', 'UTF-16 LE BOM', 'UTF-16 BE', 'latin1'] as const;
    const whole = forms.map((form) => (form === 'latin1' ? Buffer.from(sample, form) : encode(sample, form)));
    const nasty = fc.oneof(
      fc.constantFrom(...Buffer.from('\0",;\t\r\n\xff\xfe\x80\xc3 "', 'latin1')),
      fc.nat(255),
    );
    const edit = fc.record({ at: fc.nat(400), lose: fc.nat(3), insert: fc.array(nasty, { maxLength: 3 }) });
    let read = 0;
    const run = fc.property(fc.constantFrom(...whole), fc.array(edit, { maxLength: 6 }), (bytes, edits) => {
      const mutated = [...bytes];
      for (const { at, lose, insert } of edits) mutated.splice(at % mutated.length, lose, ...insert);
      if (survives(Uint8Array.from(mutated))) read++;
    });
    fc.assert(run, { seed: 20261125, numRuns: 3000 });
    expect(read).toBeGreaterThan(500);
  });

  test('of nothing but quotes, delimiters and line ends after the headings', () => {
    const text = fc.string({
      unit: fc.constantFrom('"', '""', ',', ';', '\t', '\n', '\r', ' ', 'a', '×'),
      maxLength: 40,
    });
    let read = 0;
    const run = fc.property(text, (body) => {
      if (survives(Buffer.from(`key,note\n${body}`))) read++;
    });
    fc.assert(run, { seed: 20261125, numRuns: 3000 });
    expect(read).toBeGreaterThan(500);
  });

  test('of pure chance', () => {
    const run = fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => void survives(bytes));
    fc.assert(run, { seed: 20261125, numRuns: 3000 });
  });
});

test('what a spreadsheet leaves in place of a name is no name; its cells of other columns are kept', () => {
  const rows = ['#N/A,#REF!,=A1,#N/A', '"=""001""",Amber,,', '3.00E+05,,,'];
  expect(
    problemsOf(['key,mother,station,lot', ...rows].join('\n')).map((each) => each.split(' is ')[0]),
  ).toEqual([
    '2 key: "#N/A"',
    '2 mother: "#REF!"',
    '2 station: "=A1"',
    '3 key: "="001""',
    '4 key: "3.00E+05"',
  ]);
  expect(fieldsOf('key,lot\nA1,#N/A\n')?.extra).toEqual({ lot: '#N/A' });
});
