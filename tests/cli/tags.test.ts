/** Every option of `pottag tags` in the contract (design, section 3), through the real command. */
import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { NOON } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { seededRandom } from '../support/random.js';

const LEDGER = 'pottag-ledger';
const SHEET = ['--stock', 'a4-65-38x21'];
const ROLL = ['--stock', 'roll-203-50x25'];
/** The first six IDs of every ledger. */
const [P1, P2, P3, P4, P5, P6] = ['PXSV9', 'DZK67', '21K9S', 'ZYGH0', 'GDS37', '436TV'] as const;

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

interface Printed {
  readonly stock: string;
  readonly files: readonly string[];
  readonly pages: number;
  readonly tags: readonly {
    readonly id: string;
    readonly issue: number;
    readonly text: string;
    readonly page: number;
    readonly cell: { readonly row: number; readonly column: number };
    readonly box_mm: Box;
    readonly symbols: readonly {
      readonly kind: string;
      readonly module_mm: number;
      readonly quiet_mm: number;
      readonly box_mm: Box;
    }[];
  }[];
  readonly superseded: number;
}

function garden(): Bench {
  const bench = makeBench();
  const rows = [
    'a,Tollhouse Amber,Moth Captain,seedling,bench 1 / 1',
    'b,Tollhouse Amber,Moth Captain,seedling,bench 1 / 2',
    'c,Moth Captain,Tollhouse Amber,seedling,bench 2 / 1',
    'd,,,cutting,bench 2 / 2',
    'e,,,parent,wall',
    'f,,,seedling,',
  ];
  bench.write('p.csv', ['key,seed_parent,pollen_parent,kind,station', ...rows].join('\n'));
  bench.expect(0, ['enrol', 'p.csv']);
  return bench;
}

const print = (bench: Bench, args: readonly string[], out = 'x.pdf') =>
  bench.json<Printed>(0, ['tags', ...args, '--out', out]);
const names = ({ tags }: Printed) => tags.map(({ id, issue }) => `${id}.${issue}`);
const entries = (bench: Bench) => bench.json<{ entries: number }>(0, ['check']).entries;

describe('the JSON', () => {
  it('names files, pages, tags and symbols with their places in mm', () => {
    const bench = garden();
    const printed = print(bench, [P1, '--stock', 'a4-21-64x38', '--symbol', 'both']);
    expect(printed).toMatchObject({ stock: 'a4-21-64x38', pages: 1, superseded: 0 });
    expect(printed.files).toEqual([bench.file('x.pdf')]);
    const [tag] = printed.tags;
    // 21 labels of 63.5 × 38.1 mm, the first 7.25 mm from the left and 15.15 mm from the top.
    expect(tag).toMatchObject({ id: P1, issue: 1, text: `${P1}.1`, page: 1, cell: { row: 1, column: 1 } });
    for (const [side, mm] of Object.entries({ x: 7.25, y: 15.15, width: 63.5, height: 38.1 })) {
      expect(Math.abs((tag?.box_mm[side as keyof Box] ?? 0) - mm)).toBeLessThan(0.03);
    }
    expect(tag?.symbols.map(({ kind }) => kind)).toEqual(['qr', 'code128']);
    for (const { kind, module_mm, quiet_mm, box_mm } of tag?.symbols ?? []) {
      const [modules, quiet] = kind === 'qr' ? [21, 4] : [112, 10];
      expect(box_mm.width / module_mm).toBeCloseTo(modules, 0);
      expect(quiet_mm / module_mm).toBeCloseTo(quiet, 1);
    }
    expect(readFileSync(bench.file('x.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('has the same keys when no plant is chosen, and nothing is written', () => {
    const bench = garden();
    const full = print(bench, [P1, ...SHEET], 'a.pdf');
    const empty = print(bench, ['--kind', 'graft', ...SHEET], 'b.pdf');
    expect(Object.keys(empty)).toEqual(Object.keys(full));
    expect(empty).toMatchObject({ pages: 0, files: [], tags: [] });
    expect(existsSync(bench.file('b.pdf'))).toBe(false);
  });
});

describe('plants are chosen', () => {
  it('by ID in the order given, each once', () => {
    expect(names(print(garden(), [P3, P1, P3.toLowerCase(), ...SHEET]))).toEqual([`${P3}.1`, `${P1}.1`]);
  });

  it.each<[string[], readonly string[]]>([
    [['--all'], [P1, P2, P3, P4, P5, P6]],
    [['--untagged'], [P1, P2, P3, P4, P5, P6]],
    [
      ['--cross', 'Tollhouse Amber × Moth Captain'],
      [P1, P2],
    ],
    [['--cross', 'Moth Captain x Tollhouse Amber'], [P3]],
    [['--kind', 'cutting'], [P4]],
    [
      ['--station', 'bench 1'],
      [P1, P2],
    ],
    [
      ['--station', 'bench', '--kind', 'seedling'],
      [P1, P2, P3],
    ],
  ])('by %j', (args, ids) => {
    expect(names(print(garden(), [...args, ...SHEET]))).toEqual(ids.map((id) => `${id}.1`));
  });

  it('by being untagged or queued', () => {
    const bench = garden();
    print(bench, [P1, P2, ...SHEET]);
    expect(names(print(bench, ['--untagged', '--kind', 'seedling', ...SHEET]))).toEqual([
      `${P3}.1`,
      `${P6}.1`,
    ]);
    expect(names(print(bench, ['--queued', ...SHEET]))).toEqual([]);
    bench.expect(0, ['retag', P2, '--why', 'faded']);
    expect(names(print(bench, ['--queued', ...SHEET]))).toEqual([`${P2}.2`]);
    expect(names(print(bench, ['--queued', ...SHEET]))).toEqual([]);
  });
});

describe('issues', () => {
  it('go up by one, supersede the one before, and are given again by --reprint', () => {
    const bench = garden();
    print(bench, [P1, ...SHEET]);
    const second = print(bench, [P1, P2, ...SHEET]);
    expect(names(second)).toEqual([`${P1}.2`, `${P2}.1`]);
    expect(second.superseded).toBe(1);
    const again = print(bench, [P1, '--reprint', ...SHEET]);
    expect(names(again)).toEqual([`${P1}.2`]);
    expect(again.superseded).toBe(0);
    const scanned = bench.json<{ scans: { status: string }[] }>(1, ['scan', `${P1}.1`, `${P1}.2`]);
    expect(scanned.scans.map(({ status }) => status)).toEqual(['superseded', 'current']);
    const { stdout, stderr } = bench.expect(2, ['tags', P3, '--reprint', ...SHEET, '--out', 'y.pdf']);
    expect(stdout).toBe('');
    expect(stderr).toMatch(/no current tag[\s\S]*--reprint/);
  });

  it('are recorded once for several copies', () => {
    const bench = garden();
    expect(names(print(bench, [P1, P2, '--copies', '2', ...SHEET]))).toEqual(
      [P1, P1, P2, P2].map((id) => `${id}.1`),
    );
    expect(bench.json<{ tags: unknown[] }>(0, ['show', P1]).tags).toHaveLength(1);
  });
});

describe('the first cell', () => {
  it('is a number, or the next free one of the last sheet of the stock', () => {
    const bench = garden();
    expect(print(bench, [P1, '--first-cell', '64', ...SHEET]).tags[0]?.cell).toEqual({ row: 13, column: 4 });
    expect(print(bench, [P1, '--first-cell', 'next', ...SHEET]).tags[0]?.cell).toEqual({
      row: 13,
      column: 5,
    });
    // That sheet is full.
    expect(print(bench, [P1, P2, '--first-cell', 'next', ...SHEET]).tags[0]?.cell).toEqual({
      row: 1,
      column: 1,
    });
    const { stderr } = bench.expect(0, ['tags', P1, ...SHEET, '--out', 'x.pdf']);
    expect(stderr).toMatch(/from number 3: --first-cell next/);
    for (const bad of ['0', '66', 'last']) {
      bench.expect(2, ['tags', P1, '--first-cell', bad, ...SHEET, '--out', 'x.pdf']);
    }
  });
});

describe('the printer', () => {
  it('is nudged and scaled, and remembered by name', async () => {
    const bench = garden();
    const plain = print(bench, [P1, '--first-cell', '65', ...SHEET]).tags[0]?.box_mm;
    const nudge = ['--nudge', '0.7,-0.4', '--scale', '1.003'];
    const moved = print(bench, [P1, '--first-cell', '65', ...nudge, ...SHEET]).tags[0]?.box_mm;
    // The last cell begins 4.75 + 4 × 40.6 = 167.15 mm and 10.7 + 12 × 21.2 = 265.1 mm from the corner.
    expect((moved?.x ?? 0) - (plain?.x ?? 0)).toBeCloseTo(167.15 * 0.003 + 0.7, 1);
    expect((moved?.y ?? 0) - (plain?.y ?? 0)).toBeCloseTo(265.1 * 0.003 - 0.4, 1);
    const ledger = openLedger(bench.file(LEDGER), NOON);
    await ledger.write('wren', (writer) =>
      writer.append({
        kind: 'printer-calibrated',
        body: { printer: 'shed', nudgeMm: { x: 0.7, y: -0.4 }, scale: 1.003 },
      }),
    );
    ledger.close();
    const named = print(bench, [P1, '--first-cell', '65', '--printer', 'shed', ...SHEET]);
    expect(named.tags[0]?.box_mm).toEqual(moved);
    const both = print(bench, [
      P1,
      '--first-cell',
      '65',
      '--printer',
      'shed',
      '--nudge',
      '0,0',
      '--scale',
      '1',
      ...SHEET,
    ]);
    expect(both.tags[0]?.box_mm).toEqual(plain);
    const { stderr } = bench.expect(2, ['tags', P1, '--printer', 'attic', ...SHEET, '--out', 'x.pdf']);
    expect(stderr).toMatch(/"attic"[\s\S]*pottag proof/);
    bench.expect(2, ['tags', P1, '--nudge', '-19,0', ...SHEET, '--out', 'x.pdf']);
  });

  it('has its own dots', () => {
    const bench = garden();
    for (const dpi of [203, 600]) {
      const [tag] = print(bench, [P1, '--dpi', String(dpi), ...SHEET]).tags;
      const dots = ((tag?.symbols[0]?.module_mm ?? 0) * dpi) / 25.4;
      expect(Math.abs(dots - Math.round(dots))).toBeLessThan(0.02);
    }
    bench.expect(2, ['tags', P1, '--dpi', '50', ...SHEET, '--out', 'x.pdf']);
  });
});

describe('a link', () => {
  it.each([
    ['https://figs.example', 'HTTPS://FIGS.EXAMPLE/PXSV9.1'],
    ['https://figs.example/', 'HTTPS://FIGS.EXAMPLE/PXSV9.1'],
    ['https://figs.example/Garden/t/', 'https://figs.example/Garden/t/PXSV9.1'],
  ])('%s is put before the tag text', (link, text) => {
    const printed = print(garden(), [P1, '--stock', 'a4-12-64x72', '--link', link]);
    expect(printed.tags[0]?.text).toBe(text);
  });

  it('that cannot be one is refused', () => {
    const bench = garden();
    for (const link of [
      'figs.example',
      'ftp://figs.example',
      'https://figs.example/?t=',
      'https://figs.example/#',
    ]) {
      bench.expect(2, ['tags', P1, ...SHEET, '--link', link, '--out', 'x.pdf']);
    }
  });
});

describe('pictures for label printers', () => {
  it('one a tag on a roll, named after it, one a page on sheets', () => {
    const bench = garden();
    const roll = print(bench, [P1, P2, ...ROLL], 'labels/');
    expect(roll.files).toEqual([P1, P2].map((id) => bench.file(`labels/${id}.1.png`)));
    expect(readdirSync(bench.file('labels')).sort()).toEqual([`${P2}.1.png`, `${P1}.1.png`]);
    print(bench, [P1, '--copies', '2', ...ROLL], 'labels');
    expect(readdirSync(bench.file('labels'))).toContain(`${P1}.2-2.png`);
    const sheets = print(bench, [P1, P2, '--first-cell', '65', ...SHEET], 'sheets/');
    expect(sheets.files).toEqual([1, 2].map((page) => bench.file(`sheets/page-${page}.png`)));
    expect(print(bench, [P1, ...ROLL], 'one.png').files).toEqual([bench.file('one.png')]);
  });

  it('several in one file are refused, and nothing is recorded', () => {
    const bench = garden();
    const before = entries(bench);
    const { stderr } = bench.expect(2, ['tags', P1, P2, ...ROLL, '--out', 'one.png']);
    expect(stderr).toMatch(/2[\s\S]*--out one\//);
    expect(readdirSync(bench.folder)).not.toContain('one.png');
    expect(entries(bench)).toBe(before);
  });
});

describe('when the files cannot be written', () => {
  it('nothing is left and nothing is recorded', () => {
    const bench = garden();
    const before = entries(bench);
    mkdirSync(bench.file('labels'));
    mkdirSync(bench.file(`labels/${P3}.1.png`));
    for (const out of ['none/x.pdf', 'none/labels/', 'labels', 'x', 'x.jpg']) {
      const { stdout, stderr } = bench.expect(2, ['tags', '--all', ...ROLL, '--out', out]);
      expect(stdout).toBe('');
      expect(stderr.trim().split('\n').length).toBeGreaterThan(1);
    }
    expect(readdirSync(bench.file('labels'))).toEqual([`${P3}.1.png`]);
    expect(readdirSync(bench.folder).sort()).toEqual(['labels', 'p.csv', LEDGER]);
    expect(entries(bench)).toBe(before);
    expect(names(print(bench, [P1, ...ROLL]))).toEqual([`${P1}.1`]);
  });

  it('what was there before stays', () => {
    const bench = garden();
    bench.write('x.pdf', 'mine');
    bench.expect(2, ['tags', P1, ...SHEET, '--symbol', 'both', '--out', 'x.pdf']);
    expect(readFileSync(bench.file('x.pdf'), 'utf8')).toBe('mine');
  });
});

describe('when it is killed at any moment', () => {
  it('every tag recorded has its picture, and the ledger is sound', async () => {
    const random = seededRandom(20261125);
    const bench = makeBench();
    const plants = Array.from({ length: 150 }, (_, index) => `plant ${index}`);
    bench.write('p.csv', ['key', ...plants].join('\n'));
    bench.expect(0, ['enrol', 'p.csv']);
    const started = Date.now();
    bench.expect(0, ['tags', '--all', ...ROLL, '--out', 'labels/']);
    const wholeMs = Date.now() - started;
    let killed = 0;
    for (let round = 0; round < 10; round++) {
      const child = bench.start(['tags', '--all', ...ROLL, '--out', 'labels/']);
      const ended = new Promise<string | null>((done) =>
        child.once('close', (_code, signal) => done(signal)),
      );
      // From the start of the program on: half of the kills fall while pictures are being written.
      setTimeout(() => child.kill('SIGKILL'), random.between(0.15, 1.1) * wholeMs);
      if ((await ended) === 'SIGKILL') killed++;
      bench.expect(0, ['check']);
      const { tags } = bench.json<{ tags: { issue: number }[] }>(0, ['show', P1]);
      for (const { issue } of tags) {
        const found = readdirSync(bench.file('labels')).filter((name) => name.endsWith(`.${issue}.png`));
        expect(found).toHaveLength(plants.length);
      }
    }
    expect(killed).toBeGreaterThan(0);
    const before = bench.json<{ tags: unknown[] }>(0, ['show', P1]).tags.length;
    expect(print(bench, [P1, ...ROLL], 'labels').tags[0]?.issue).toBe(before + 1);
  }, 180_000);
});
