import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/errors.js';
import { readWalk, traitName } from '../../src/walk/rows.js';

const read = (text: string | Uint8Array) => readWalk(Buffer.from(text), 'walk.csv');

function problemsOf(text: string): string[] {
  try {
    read(text);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    expect(error.hint).not.toBe('');
    return error.problems.map(({ line, column, problem }) => `${line} ${column}: ${problem}`);
  }
  return [];
}

describe('readWalk', () => {
  it('reads stations, what was scanned, and traits as numbers or words', () => {
    const [first, second] = read(
      'Station;Scanned;height_cm;leaf;buds\nbench 1 / 2;K7FY5.1;62,5;five-lobed;3\nbench 1 / 3;NONE;;;\n',
    );
    expect(first).toMatchObject({ line: 2, station: 'bench 1 / 2', scanned: 'K7FY5.1' });
    expect([...(first?.traits ?? [])]).toEqual([
      ['height', 62.5],
      ['leaf', 'five-lobed'],
      ['buds', 3],
    ]);
    expect(second).toMatchObject({ line: 3, scanned: 'none' });
    expect(second?.traits.size).toBe(0);
  });

  it('reads UTF-16 and Windows-1252, tabs, a byte-order mark and quoted lines', () => {
    expect(read(Buffer.from('\ufeffStandort\tscanned\nTisch 1\tempty\n', 'utf16le'))[0]?.station).toBe(
      'Tisch 1',
    );
    expect(read(Buffer.from('station,scanned\nS\xfcdwand 1,none\n', 'latin1'))[0]?.station).toBe('Südwand 1');
    expect(read('\ufeffstation,scanned,note\n"bench\n1",none,"two\nlines"\na 2,none,\n')[1]?.line).toBe(5);
  });

  it('takes a column for words if any of its cells is one', () => {
    expect(read('station,scanned,lobes\na 1,none,5\na 2,none,five\n')[0]?.traits.get('lobes')).toBe('5');
  });

  it('takes the same tag scanned twice at a station for one', () => {
    expect(read('station,scanned\na 1,K7FY5\nA 1,k7fy5\na 1,PXSV9\n').map(({ line }) => line)).toEqual([
      2, 4,
    ]);
    expect(read('station,scanned\na 1,none\na 1,none\n')).toHaveLength(2);
  });

  it('says all that is wrong, each with its line and column', () => {
    const problems = problemsOf(
      'station,scanned,height_cm\n,K7FY5,\na 1,,\na 2,none,tall\na 3,none,5,extra\na 4,empty,\na 4,PXSV9,\n',
    );
    expect(problems).toEqual([
      expect.stringMatching(/^2 station: The station is empty/),
      expect.stringMatching(/^3 scanned: .*none.*empty/),
      expect.stringMatching(/^4 height_cm: height "tall"/),
      expect.stringMatching(/^5 height_cm: .*"extra"/),
      expect.stringMatching(/^7 scanned: "a 4" is empty in line 6/),
    ]);
  });

  it('refuses a file without the two columns, or with one trait twice', () => {
    expect(() => read('place,text\na,b\n')).toThrow(/no column "scanned".*"place", "text"/);
    expect(() => read('scanned,leaf\na,b\n')).toThrow(/no column "station"/);
    expect(problemsOf('station,scanned,height,height_cm\na,none,,\n')).toEqual([
      expect.stringMatching(/^1 height_cm: /),
    ]);
  });

  it('never crashes: any text is rows or an InputError', () => {
    const cell = fc.oneof(
      fc.string(),
      fc.constantFrom('none', 'empty', 'K7FY5.1', 'K?F?5', '12', '"', 'a\nb'),
    );
    fc.assert(
      fc.property(fc.array(fc.array(cell, { maxLength: 4 }), { maxLength: 6 }), (rows) => {
        const text = ['station,scanned,height_cm', ...rows.map((cells) => cells.join(','))].join('\n');
        try {
          for (const row of read(text)) {
            expect(row.station).not.toBe('');
            expect(row.scanned).not.toBe('');
          }
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { seed: 20261125, numRuns: 500 },
    );
  });
});

it('a heading is the vocabulary’s trait with its unit left out, or a trait of its own', () => {
  expect(traitName('height_cm')).toBe('height');
  expect(traitName('Height (cm)')).toBe('height');
  expect(traitName('Brix °Bx')).toBe('brix');
  expect(traitName('Leaf form')).toBe('leaf form');
  // Metres are not centimetres.
  expect(traitName('height_m')).toBe('height m');
});
