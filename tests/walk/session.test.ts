import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { signText } from '../../src/codes/station-sign.js';
import { type KnownStations, knownStations } from '../../src/walk/lines.js';
import { readWalk } from '../../src/walk/rows.js';
import { WalkSession } from '../../src/walk/session.js';
import { placeOf } from '../../src/walk/stations.js';

const NONE = knownStations([]);
const KNOWN = knownStations(['Tisch 2 / Reihe 1 / 4', 'shelf', 'A3-075']);

/** `PXSV9` and `DZK67` are sound IDs. */
function typed(...lines: readonly string[]) {
  return typedWhere(NONE, lines);
}

function typedWhere(known: KnownStations, lines: readonly string[]) {
  const session = new WalkSession(5, known);
  for (const line of lines) session.line(line);
  session.end();
  const rows = readWalk(Buffer.from(session.csv()), 'typed');
  return {
    rows: rows.map(({ station, scanned, traits }) => [station, scanned, Object.fromEntries(traits)]),
    problems: session.problems,
  };
}

describe('WalkSession', () => {
  it('takes what is scanned and typed after a sign for that station, in any order of stations', () => {
    const { rows, problems } = typed(
      'station bench 1 / 7',
      'PXSV9.1',
      'STATION bench 1 / 3',
      'none',
      'height 64,5 cm',
      'leaf five-lobed',
      'buds: 3',
      'station bench 1 / 5',
      'empty',
      'station bench 1 / 4',
      'k?f?5',
    );
    expect(problems).toEqual([]);
    expect(rows).toEqual([
      ['bench 1 / 7', 'PXSV9.1', {}],
      ['bench 1 / 3', 'none', { height: 64.5, leaf: 'five-lobed', buds: 3 }],
      ['bench 1 / 5', 'empty', {}],
      ['bench 1 / 4', 'k?f?5', {}],
    ]);
  });

  it('forgives a scanner that fires twice, and a sign scanned again later', () => {
    const { rows, problems } = typed(
      'station shelf',
      'station Shelf',
      'PXSV9.1',
      'pxsv9.1',
      'station bench 1',
      'none',
      'station SHELF',
      'DZK67.1',
      'height 30',
    );
    expect(problems).toEqual([]);
    expect(rows).toEqual([
      ['shelf', 'PXSV9.1', {}],
      ['shelf', 'DZK67.1', { height: 30 }],
      ['bench 1', 'none', {}],
    ]);
  });

  const refused: readonly (readonly [what: string, lines: readonly string[], says: RegExp])[] = [
    ['a tag before any sign', ['PXSV9.1', 'station a 1', 'none'], /No station is open.*"PXSV9\.1"/],
    ['a trait before any pot', ['station a 1', 'height 5', 'none'], /no pot yet/],
    ['a trait of no pot', ['station a 1', 'empty', 'height 5'], /no pot yet/],
    ['a value that cannot be', ['station a 1', 'none', 'height 99999'], /0\.1 to 5000 cm\. Type it again/],
    ['a slip', ['station a 1', 'none', 'heigth 5'], /Did you mean "height"/],
    ['a slip of the leaf', ['station a 1', 'none', 'leef 5'], /Did you mean "leaf"/],
    ['a slip of a word', ['station a 1', 'nnoe', 'none'], /Did you mean "none"/],
    ['a pot where there is none', ['station a 1', 'empty', 'PXSV9'], /has empty already.*forget/],
    ['no word at all', ['station a 1', 'empty', 'quatsch'], /"quatsch" is no word that a walk knows.*forget/],
    ['no pot where there is one', ['station a 1', 'PXSV9', 'empty'], /has PXSV9 already/],
    ['a station left without a word', ['station a 2', 'station a 1', 'none'], /"a 2" was left.*not visited/],
    ['such a station at the end', ['station a 1', 'none', 'station a 2'], /"a 2" was left.*not visited/],
  ];
  for (const [what, lines, says] of refused) {
    it(`says so of ${what}, and keeps the rest`, () => {
      const { rows, problems } = typed(...lines);
      expect(problems.map(({ problem }) => problem)).toEqual([expect.stringMatching(says)]);
      expect(rows.map(([station]) => station)).toEqual(['a 1']);
    });
  }

  it('takes the bare name of a station for the station: a known one in any spelling, or one of parts', () => {
    const { rows, problems } = typedWhere(KNOWN, [
      'tisch 2 / reihe 1 / 4',
      'PXSV9.1',
      'Shelf',
      'none',
      'height 30',
      'bench 2 / row 3 / 7',
      'DZK67.1',
      'a3-075', // The shape of a damaged ID.
      'empty',
    ]);
    expect(problems).toEqual([]);
    expect(rows).toEqual([
      ['Tisch 2 / Reihe 1 / 4', 'PXSV9.1', {}],
      ['shelf', 'none', { height: 30 }],
      ['bench 2 / row 3 / 7', 'DZK67.1', {}],
      ['A3-075', 'empty', {}],
    ]);
  });

  it('takes a slash in a value for no station', () => {
    const seen = { note: 'tall / thin', 'leaf form': 'lobed / entire' };
    const lines = ['station a 1', 'none', 'note tall / thin', 'leaf form: lobed / entire'];
    expect(typed(...lines)).toEqual({ rows: [['a 1', 'none', seen]], problems: [] });
  });

  // Spaces being ignored in an ID, each of these has the shape of a damaged one.
  for (const [line, seen] of [
    ['leaf 5', { leaf: '5' }],
    ['bark 3', { bark: 3 }],
  ] as const) {
    it(`takes "${line}" for what is seen on the pot, not for another pot`, () => {
      const { rows, problems } = typed('station a 1', 'PXSV9.1', line);
      expect(problems).toEqual([]);
      expect(rows).toEqual([['a 1', 'PXSV9.1', seen]]);
    });
  }

  it('forgets a station when told to', () => {
    const { rows } = typed('station a 1', 'PXSV9', 'height 5', 'forget', 'empty');
    expect(rows).toEqual([['a 1', 'empty', {}]]);
  });

  it('takes what no word begins for what is scanned there: the tag of another', () => {
    expect(typed('station a 1', 'https://shop.invalid/fig/4711').rows).toEqual([
      ['a 1', 'https://shop.invalid/fig/4711', {}],
    ]);
  });

  it("a stranger's code that a spreadsheet would obey comes out as text", () => {
    const session = new WalkSession(5, NONE);
    for (const line of [
      signText('bench 1 / 1'),
      '=HYPERLINK("http://192.0.2.7")',
      signText('bench 1 / 2'),
      'PXSV9.1',
      'leaf: =1+1',
      'warmth: -3.5',
    ]) {
      session.line(line);
    }
    expect(session.csv()).toBe(
      'station,scanned,leaf,warmth\nbench 1 / 1,"\'=HYPERLINK(""http://192.0.2.7"")",,\nbench 1 / 2,PXSV9.1,\'=1+1,-3.5\n',
    );
  });

  it('never fails, and what it keeps is always a sound walk', () => {
    const line = fc.oneof(
      fc.constantFrom(
        'none',
        'empty',
        'forget',
        'height 5',
        'leaf x',
        'PXSV9',
        'K?F?5',
        'station a 1',
        'help',
      ),
      fc.string({ maxLength: 30, unit: 'grapheme' }),
      fc.string({ minLength: 1, maxLength: 20, unit: 'grapheme' }).map(signText),
    );
    fc.assert(
      fc.property(fc.array(line, { maxLength: 30 }), (lines) => {
        const session = new WalkSession(5, NONE);
        for (const each of lines) session.line(each);
        session.end();
        const rows = readWalk(Buffer.from(session.csv()), 'typed');
        expect(rows.every(({ station, place }) => placeOf(station).key === place.key)).toBe(true);
      }),
      { seed: 20261125, numRuns: 1000 },
    );
  });
});
