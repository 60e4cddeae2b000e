/** `pottag stocks` through the real command, and a grower's own stock file from its check to its tags. */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';
import { rasterisePdf } from '../support/rasterise.js';

/** Four labels of 80 × 50 mm on a small sheet, with margins of 10 mm and gaps of 5 mm. */
const OWN = {
  name: 'mine-80x50',
  description: 'Sheet of 185 × 125 mm, 4 labels of 80 × 50 mm, film',
  page: { kind: 'sheet', width_mm: 185, height_mm: 125 },
  dpi: 300,
  cells: {
    ...{ columns: 2, rows: 2, left_mm: 10, top_mm: 10, pitch_x_mm: 85, pitch_y_mm: 55 },
    ...{ width_mm: 80, height_mm: 50 },
  },
};

interface Listed {
  readonly stocks: readonly { readonly name: string; readonly description: string | null }[];
}

function benchWithOwn(stock: object = OWN): Bench {
  const bench = makeBench();
  mkdirSync(bench.file('pottag-ledger/layouts'), { recursive: true });
  writeFileSync(bench.file('pottag-ledger/layouts/mine-80x50.json'), JSON.stringify(stock));
  return bench;
}

describe("a grower's own stock", () => {
  it('is checked, listed, drawn and printed on like a shipped one', async () => {
    const bench = benchWithOwn();
    const file = 'pottag-ledger/layouts/mine-80x50.json';
    expect(bench.expect(0, ['stocks', '--check', file]).stdout).toMatch(/Sound/);
    expect(bench.json<Listed>(0, ['stocks']).stocks.map(({ name }) => name)).toContain('mine-80x50');
    bench.expect(0, ['stocks', 'mine-80x50', '--out', 'overlay.pdf']);
    const [overlay] = await rasterisePdf(readFileSync(bench.file('overlay.pdf')), 100);
    expect([overlay?.width, overlay?.height]).toEqual([728, 492]);
    bench.write('p.csv', 'key\na\nb\nc\n');
    bench.expect(0, ['enrol', 'p.csv']);
    const printed = bench.json<{ tags: { box_mm: { x: number; y: number } }[] }>(0, [
      ...['tags', '--all', '--stock', 'mine-80x50', '--out', 'x.pdf'],
    ]);
    const places = printed.tags.map(({ box_mm }) => [Math.round(box_mm.x), Math.round(box_mm.y)]);
    expect(places).toEqual([
      [10, 10],
      [95, 10],
      [10, 65],
    ]);
  });

  it('that is wrong is named in the list, and each of its problems when it is used', () => {
    const bench = benchWithOwn({ ...OWN, dpi: 20, cells: { ...OWN.cells, columns: 5, colour: 'white' } });
    const path =
      /mine-80x50 +has \d problems: pottag stocks --check \S*pottag-ledger\/layouts\/mine-80x50\.json$/m;
    expect(bench.expect(0, ['stocks']).stdout).toMatch(path);
    const check = bench.expect(1, ['stocks', '--check', 'pottag-ledger/layouts/mine-80x50.json']);
    for (const { stdout, stderr } of [check, bench.expect(2, ['stocks', 'mine-80x50'])]) {
      expect(stdout + stderr).toMatch(/dpi +must be at least 100/);
      expect(stdout + stderr).toMatch(/cells\.colour +is no key of a stock file/);
      expect(stdout + stderr).toMatch(/cells +the last column ends at 430 mm/);
    }
    const left = benchWithOwn({ ...OWN, cells: { ...OWN.cells, columns: 5 } });
    expect(left.expect(0, ['stocks']).stdout).toMatch(/mine-80x50 +has 1 problem: /);
    const { stderr } = left.expect(2, ['stocks', 'mine-80x50']);
    expect(stderr).toMatch(/the last column ends at 430 mm, the page at 185 mm/);
    expect(stderr).toMatch(/--check/);
  });

  it('is completed by an editor from the schema that the help names', () => {
    const { stdout } = makeBench().expect(0, ['stocks', '--help']);
    const path = /^ +(\S.*stock\.schema\.json)$/m.exec(stdout)?.[1] ?? '';
    expect(JSON.parse(readFileSync(path, 'utf8'))).toMatchObject({ description: 'A stock of blank tags' });
  });

  it('is not looked for in a file that has the name of the folder', () => {
    const bench = makeBench();
    mkdirSync(bench.file('pottag-ledger'));
    bench.write('pottag-ledger/layouts', 'a file where a folder is looked for');
    const { error } = bench.json<{ error: { code: string; hint: string } }>(2, ['stocks']);
    expect(error).toMatchObject({ code: 'no-folder', hint: expect.stringMatching(/Move away/) });
  });

  it('has the name of its file', () => {
    const bench = benchWithOwn({ ...OWN, name: 'other' });
    const { problems } = bench.json<{ problems: { column: string }[] }>(1, [
      ...['stocks', '--check', 'pottag-ledger/layouts/mine-80x50.json'],
    ]);
    expect(problems.map(({ column }) => column)).toEqual(['name']);
  });
});

describe('one stock', () => {
  it('says which codes it takes, how large, and from how far the ID is read', () => {
    const bench = makeBench();
    const { stdout } = bench.expect(0, ['stocks', 'a4-65-38x21']);
    expect(stdout).toMatch(/5 columns × 13 rows/);
    expect(stdout).toMatch(/QR code +modules of 0\.51 mm; ID 3\.\d mm high, easy to read up to 0\.\d m/);
    expect(stdout).toMatch(/both codes +does not fit/);
    const { fits } = bench.json<{ fits: { symbol: string; tag: { id_read_from_m: number } | null }[] }>(0, [
      ...['stocks', 'stake-a4-16x127'],
    ]);
    expect(fits.map(({ symbol }) => symbol)).toEqual(['qr', 'code128', 'both']);
    expect(fits[0]?.tag?.id_read_from_m).toBeGreaterThan(1);
  });

  it('is drawn into a PDF only, and what does not go together is refused', () => {
    const bench = makeBench();
    bench.expect(2, ['stocks', 'a4-65-38x21', '--out', 'overlay.txt']);
    bench.expect(2, ['stocks', 'a4-65-38x21', '--out', 'none/overlay.pdf']);
    bench.expect(2, ['stocks', 'a4-65-38x21', '--check', 'x.json']);
    bench.expect(2, ['stocks', '--out', 'overlay.pdf']);
    expect(readdirSync(bench.folder)).toEqual([]);
  });
});
