/**
 * The command contract: exit codes 0, 1, 2, 3; results on stdout, talk and errors on stderr; with --json
 * one document on stdout, whatever happens; never a stack trace.
 */
import { mkdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Database } from '../../src/ledger/database.js';
import { Bench, makeBench } from '../support/pottag.js';

const STACK = /^\s+at .+:\d+:\d+|node:internal/m;

let bench: Bench;
beforeAll(() => {
  bench = new Bench();
  bench.write('plants.csv', 'key,seed_parent,pollen_parent\na,Amber Tollhouse,Moth Captain\nb,,\n');
  bench.write('more.csv', 'key,station\na,bench 1\nb,\nc,\n');
  bench.write('walk.csv', 'station,scanned\nbench 1 / 1,PXSV9\n');
  bench.write('empty-walk.csv', 'station,scanned\n');
  bench.write('bad-walk.csv', 'station,scanned\n,PXSV9\n');
  bench.write('bad.csv', 'key,kind\na,\na,\nd,shrub\n');
  bench.write('ids.csv', 'id,key\nK7FY5,z\n');
  bench.write('notes.txt', 'no picture');
  bench.write('stock.json', '{"name": "mine"}');
  bench.expect(0, ['enrol', 'plants.csv']);
});
afterAll(() => rmSync(bench.folder, { recursive: true, force: true }));

interface Call {
  readonly args: readonly string[];
  readonly status: 0 | 1 | 2 | 3;
  /** What stdout, or for an error stderr, must say. */
  readonly says: RegExp;
}

const STOCK = ['--stock', 'a4-65-38x21'];

const RESULTS: readonly Call[] = [
  { args: ['enrol', 'plants.csv'], status: 0, says: /0 plants enrolled.*2 known/ },
  { args: ['enrol', 'more.csv', '--dry-run'], status: 1, says: /station.*bench 1/ },
  { args: ['enrol', 'bad.csv', '--dry-run', '--skip-bad'], status: 1, says: /1 known/ },
  { args: ['stocks'], status: 0, says: /a4-65-38x21/ },
  { args: ['stocks', 'a4-65-38x21'], status: 0, says: /38\.1 × 21\.2 mm/ },
  { args: ['stocks', '--check', 'stock.json'], status: 1, says: /page/ },
  { args: ['tags', 'PXSV9', ...STOCK, '--out', 'a.pdf'], status: 0, says: /1 tag on 1 page/ },
  { args: ['tags', '--kind', 'graft', ...STOCK, '--out', 'a.pdf'], status: 0, says: /[Nn]o plant/ },
  { args: ['scan', 'PXSV9'], status: 0, says: /current.*Amber Tollhouse × Moth Captain/ },
  { args: ['scan', 'PXSV9', 'K7FY5'], status: 1, says: /unknown/ },
  { args: ['scan', 'PXS??'], status: 1, says: /PXSV9\?/ },
  { args: ['show', 'PXSV9'], status: 0, says: /Amber Tollhouse × Moth Captain/ },
  {
    args: ['show', 'PXSV9.9'],
    status: 1,
    says: /Amber Tollhouse × Moth Captain[\s\S]*never printed|unissued/,
  },
  { args: ['walk', 'walk.csv'], status: 1, says: /PXSV9.*no station was known/ },
  { args: ['walk', 'empty-walk.csv'], status: 1, says: /0 rows walked/ },
  { args: ['doubts'], status: 0, says: /No doubts.*1 pair of plants/ },
  {
    args: ['crosses'],
    status: 0,
    says: /Amber Tollhouse × Moth Captain[\s\S]*1 sown, 1 alive, none fruited/,
  },
  { args: ['keepers'], status: 0, says: /nothing to rank[\s\S]*--keep yes/ },
  { args: ['keepers', '--weight', 'early=1,5', '--top', '3'], status: 0, says: /nothing to rank/ },
  { args: ['picks'], status: 0, says: /No fruit hangs/ },
  { args: ['picks', '--frost', '2999-01-01'], status: 0, says: /No fruit hangs/ },
  { args: ['report', '--out', 'report'], status: 0, says: /Written.*index\.html/ },
  { args: ['undo'], status: 0, says: /Nothing/ },
  { args: ['check'], status: 0, says: /2 plants/ },
];

const ERRORS: readonly Call[] = [
  { args: ['enrol', 'none.csv'], status: 2, says: /none\.csv/ },
  { args: ['enrol', '.'], status: 2, says: /cannot be read/ },
  { args: ['enrol', 'bad.csv'], status: 2, says: /line 3.*key[\s\S]*line 4.*kind/ },
  { args: ['enrol', 'ids.csv'], status: 2, says: /line 2.*K7FY5/ },
  { args: ['enrol', 'plants.csv', '--column', 'kye=a'], status: 2, says: /mean key/ },
  { args: ['enrol', 'plants.csv', '--column', 'key'], status: 2, says: /--column key="/ },
  { args: ['enrol', 'plants.csv', '--out', 'none/x.csv'], status: 2, says: /no folder none/ },
  { args: ['enrol', 'plants.csv', '--id-length', '6'], status: 2, says: /5 characters, not 6/ },
  { args: ['enrol', 'plants.csv', '--ledger', 'notes.txt'], status: 3, says: /notes\.txt/ },
  { args: ['stocks', 'a4-65-38x22'], status: 2, says: /mean a4-65-38x21/ },
  { args: ['stocks', '--out', 'x.pdf'], status: 2, says: /NAME/ },
  { args: ['stocks', '--check', 'none.json'], status: 2, says: /none\.json/ },
  { args: ['tags', ...STOCK, '--out', 'x.pdf'], status: 2, says: /--untagged/ },
  { args: ['tags', 'K7FY5', ...STOCK, '--out', 'x.pdf'], status: 2, says: /K7FY5/ },
  { args: ['tags', '--all', ...STOCK, '--out', 'x.pdf', '--first-cell', '66'], status: 2, says: /1 to 65/ },
  { args: ['scan', 'PXSV9', '--brix', '50', '--wood', 'x'], status: 2, says: /0 to 40[\s\S]*new, old/ },
  { args: ['scan', 'PXSV9', '--date', '2999-01-01'], status: 2, says: /future/ },
  { args: ['scan', '--photo', 'none.jpg'], status: 2, says: /none\.jpg/ },
  { args: ['scan', '--photo', 'notes.txt'], status: 2, says: /notes\.txt.*JPEG/ },
  { args: ['scan', 'PXSV9', '--photo', 'notes.txt'], status: 2, says: /--photo-keep/ },
  { args: ['scan', 'PXSV9', '--photo-keep'], status: 2, says: /--photo/ },
  { args: ['show', 'K7FY5'], status: 2, says: /K7FY5/ },
  { args: ['show', 'PXS??'], status: 2, says: /mean PXSV9/ },
  { args: ['walk', 'none.csv'], status: 2, says: /none\.csv/ },
  { args: ['walk', 'bad-walk.csv'], status: 2, says: /line 2.*station is empty/ },
  { args: ['walk', 'walk.csv', '--accept', 'bench 1 / 1'], status: 2, says: /--accept/ },
  { args: ['walk', 'walk.csv', '--ledger', 'none'], status: 3, says: /no ledger in none/ },
  { args: ['scan', 'PXSV9', '--ledger', 'none'], status: 3, says: /no ledger in none/ },
  { args: ['show', 'PXSV9', '--ledger', 'none'], status: 3, says: /no ledger in none/ },
  { args: ['exchange', 'PXSV9', 'PXSV9', '--since', '2025-01-01'], status: 2, says: /named twice/ },
  { args: ['exchange', 'PXSV9', 'K7FY5', '--since', '2025-01-01'], status: 2, says: /K7FY5/ },
  { args: ['exchange', 'PXSV9', 'PXSV9', '--since', '2999-01-01'], status: 2, says: /future/ },
  { args: ['undo', '9999'], status: 2, says: /no change 9999/ },
  { args: ['undo', 'last'], status: 2, says: /"last"/ },
  { args: ['retag', 'K7FY5', '--why', 'lost'], status: 2, says: /K7FY5/ },
  { args: ['signs', '--station', 'attic', ...STOCK, '--out', 'x.pdf'], status: 2, says: /"attic"/ },
  { args: ['show', 'PXSV9', '--as-of', '1999-01-01'], status: 2, says: /At the end of 1999-01-01/ },
  { args: ['keepers', '--weight', 'sweetness=3'], status: 2, says: /"sweetness"[\s\S]*liking, brix/ },
  { args: ['picks', '--frost', '2020-01-01'], status: 2, says: /past/ },
  { args: ['picks', '--frost', '2027-02-30'], status: 2, says: /not a day/ },
  { args: ['report', '--out', 'plants.csv'], status: 2, says: /plants\.csv is a file/ },
  ...[
    ['exchange', 'PXSV9', 'K7FY5', '--since', '2025-01-01'],
    ['undo'],
    ['doubts'],
    ['crosses'],
    ['keepers'],
    ['picks'],
    ['report', '--out', 'report'],
    ['export', '--to', 'tables'],
    ['backup', 'ledger.tar.gz'],
    ['check'],
  ].map((args) => ({ args: [...args, '--ledger', 'none'], status: 3, says: /no ledger in none/ }) as const),
  { args: ['tags', '--all', ...STOCK, '--out', 'x.pdf', '--ledger', 'none'], status: 3, says: /no ledger/ },
];

describe('a result', () => {
  for (const { args, status, says } of RESULTS) {
    it(`pottag ${args.join(' ')}: ${status}`, () => {
      const { stdout, stderr } = bench.expect(status, args);
      expect(stdout).toMatch(says);
      expect(stderr).not.toMatch(STACK);
      expect(bench.json<object>(status, args)).toBeTypeOf('object');
    });
  }
});

describe('an error', () => {
  for (const { args, status, says } of ERRORS) {
    it(`pottag ${args.join(' ')}: ${status}`, () => {
      const { stdout, stderr } = bench.expect(status, args);
      expect(stdout).toBe('');
      expect(stderr).toMatch(says);
      expect(stderr).not.toMatch(STACK);
      // What was wrong, and what to do: two sentences at least.
      expect(stderr.trim().split('\n').length).toBeGreaterThan(1);
    });
  }

  const documents: readonly (readonly [status: 2 | 3, code: string, args: readonly string[]])[] = [
    [2, 'cannot-read-file', ['enrol', 'none.csv']],
    [2, 'no-such-folder', ['enrol', 'plants.csv', '--out', 'none/x.csv']],
    [2, 'bad-observation', ['scan', 'PXSV9', '--brix', '50', '--wood', 'x']],
    [2, 'id-unknown', ['show', 'K7FY5']],
    [3, 'missing', ['scan', 'PXSV9', '--ledger', 'none']],
  ];
  for (const [status, code, args] of documents) {
    it(`pottag ${args.join(' ')} --json: one document with what was wrong and what to do`, () => {
      const { error } = bench.json<{ error: Record<string, string> }>(status, args);
      expect(error).toMatchObject({
        code,
        message: expect.stringMatching(/./),
        hint: expect.stringMatching(/./),
      });
    });
  }

  it('of rows is one document with every problem', () => {
    const { problems } = bench.json<{ problems: { line: number }[] }>(2, ['enrol', 'bad.csv']);
    expect(problems.map(({ line }) => line)).toEqual([3, 4]);
  });
});

describe('a ledger that cannot be used ends every command with 3, and stays as it is', () => {
  const unusable: readonly (readonly [what: string, make: (file: string) => void, says: RegExp])[] = [
    ['damaged', (file) => writeFileSync(file, 'this was a ledger once '.repeat(100)), /damaged[\s\S]*copy/],
    ['not to be opened', (file) => mkdirSync(file), /cannot be opened/],
    [
      'made by a newer Pottag',
      (file) => {
        const database = Database.openOrCreate(file);
        database.pragma('user_version = 99');
        database.close();
      },
      /newer/,
    ],
  ];
  for (const [what, make, says] of unusable) {
    it(what, () => {
      const own = makeBench();
      own.write('plants.csv', 'key,station,scanned\na,bench,none\n');
      mkdirSync(own.file('pottag-ledger'));
      const file = own.file('pottag-ledger/ledger.sqlite');
      make(file);
      const before = statSync(file);
      for (const args of [
        ['enrol', 'plants.csv'],
        ['scan', 'PXSV9', '--brix', '18'],
        ['show', 'PXSV9'],
        ['walk', 'plants.csv'],
        ['undo'],
        ['doubts'],
        ['crosses'],
        ['keepers'],
        ['picks'],
        ['report', '--out', 'report'],
        ['check'],
      ]) {
        const { stdout, stderr } = own.expect(3, args);
        expect(stdout).toBe('');
        expect(stderr).toMatch(says);
        expect(stderr).not.toMatch(STACK);
      }
      expect(own.json<{ error: { hint: string } }>(3, ['check']).error.hint).toMatch(/./);
      expect(statSync(file)).toMatchObject({ size: before.size, mtimeMs: before.mtimeMs });
    });
  }
});

/** Calls that the parser of arguments refuses. */
const MISUSES: readonly Call[] = [
  { args: [], status: 2, says: /No command[\s\S]*pottag --help/ },
  { args: ['scna', 'PXSV9'], status: 2, says: /'scna'[\s\S]*scan/ },
  { args: ['enrol'], status: 2, says: /file\.csv/ },
  { args: ['enrol', 'plants.csv', 'more.csv'], status: 2, says: /Too many/ },
  { args: ['enrol', 'plants.csv', '--amned'], status: 2, says: /'--amned'[\s\S]*--amend/ },
  { args: ['enrol', 'plants.csv', '--dates', 'dym'], status: 2, says: /dmy, mdy, ymd/ },
  { args: ['enrol', 'plants.csv', '--id-length', '8'], status: 2, says: /5, 6, 7/ },
  { args: ['scan', 'PXSV9', '--brxi', '3'], status: 2, says: /'--brxi'[\s\S]*--brix/ },
  { args: ['scan', 'PXSV9', '--brix'], status: 2, says: /--brix/ },
  { args: ['show'], status: 2, says: /id/ },
  { args: ['exchange', 'PXSV9'], status: 2, says: /--since|'b'/ },
  { args: ['doubts', 'PXSV9'], status: 2, says: /Too many/ },
  { args: ['keepers', '--weight', 'liking'], status: 2, says: /liking=3/ },
  { args: ['keepers', '--top', '0'], status: 2, says: /from 1/ },
  { args: ['picks', '--forst', '2999-01-01'], status: 2, says: /'--forst'[\s\S]*--frost/ },
  { args: ['report'], status: 2, says: /--out/ },
  { args: ['tags', '--all', '--out', 'x.pdf'], status: 2, says: /--stock/ },
  { args: ['tags', '--all', ...STOCK, '--out', 'x.pdf', '--first-cell', '0'], status: 2, says: /from 1/ },
];

describe('a misuse', () => {
  for (const { args, status, says } of MISUSES) {
    it(`pottag ${args.join(' ')}: ${status}`, () => {
      const { stdout, stderr } = bench.expect(status, args);
      expect(stdout).toBe('');
      expect(stderr).toMatch(says);
      expect(stderr).not.toMatch(STACK);
    });
  }

  // The parser's own errors go past --json: nothing is on stdout.
  it('with --json is one document too', () => {
    for (const args of [
      ['scna'],
      ['report'],
      ['keepers', '--top', '0'],
      ['enrol'],
      ['enrol', 'plants.csv', '--amned'],
    ]) {
      expect(bench.json<{ error: object }>(2, args).error).toBeTypeOf('object');
    }
  });

  it('says what to do, as every other error does', () => {
    expect(bench.expect(2, ['enrol']).stderr).toMatch(/^Error: [\s\S]*--help/);
  });

  it('help for a command that is not there names it, and the near one', () => {
    expect(bench.expect(2, ['help', 'scna']).stderr).toMatch(/scna[\s\S]*scan/);
  });
});

it('when bad input was refused, nothing was written', () => {
  const { entries } = bench.json<{ entries: number }>(0, ['check']);
  const refused = [
    ['enrol', 'bad.csv'],
    ['enrol', 'ids.csv'],
    ['enrol', 'more.csv', '--out', 'none/x.csv'],
    ['scan', 'PXSV9', '--brix', '50'],
  ];
  for (const args of refused) {
    expect(bench.run(args).status).toBe(2);
  }
  expect(bench.json<{ entries: number }>(0, ['check']).entries).toBe(entries);
});
