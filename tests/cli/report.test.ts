/**
 * `report` as it is called; and that its page says what `crosses` and `keepers` say.
 */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { growGarden } from '../support/garden.js';
import { Bench, makeBench } from '../support/pottag.js';

/** What is asked of an element of the page. */
interface Part {
  readonly textContent: string | null;
  readonly parentElement: Part | null;
  readonly children: Iterable<Part>;
  getAttribute(name: string): string | null;
  querySelector(selector: string): Part | null;
  querySelectorAll(selector: string): Iterable<Part>;
}

interface Written {
  readonly folder: string;
  readonly file: string;
  readonly bytes: number;
  readonly sections: readonly { readonly id: string; readonly title: string; readonly plots: number }[];
}

function small(): Bench {
  const bench = makeBench();
  bench.write(
    'plants.csv',
    'key,seed_parent,pollen_parent,sown\na,Amber Tollhouse,Moth Captain,2024-02-01\n',
  );
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

describe('report', () => {
  it('writes one file and says what is in it', () => {
    const bench = small();
    const written = bench.json<Written>(0, ['report', '--out', 'deep/out']);
    expect(readdirSync(bench.file('deep/out'))).toEqual(['index.html']);
    expect(written).toMatchObject({ folder: 'deep/out', file: 'deep/out/index.html' });
    expect(written.bytes).toBe(statSync(bench.file(written.file)).size);
    const page = parseHTML(readFileSync(bench.file(written.file), 'utf8')).document;
    const sections = [...page.querySelectorAll('section')].map((section) => ({
      id: section.id,
      title: section.querySelector('h2')?.textContent ?? '',
      plots: section.querySelectorAll('svg').length,
    }));
    expect(written.sections).toEqual(sections);
    expect(sections.map(({ id }) => id)).toEqual([
      'summary',
      'crosses',
      'first-fruit',
      'keepers',
      'benches',
      'ripening',
      'care',
    ]);
    expect(bench.expect(0, ['report', '--out', 'out']).stdout).toContain('out/index.html');
  });

  it('replaces its own page and leaves all else in the folder', () => {
    const bench = small();
    bench.expect(0, ['report', '--out', 'out']);
    bench.write('out/mine.txt', 'mine');
    const before = readFileSync(bench.file('out/index.html'), 'utf8');
    bench.write('more.csv', 'key\nb\n');
    bench.expect(0, ['enrol', 'more.csv']);
    bench.expect(0, ['report', '--out', 'out']);
    expect(readdirSync(bench.file('out')).sort()).toEqual(['index.html', 'mine.txt']);
    expect(readFileSync(bench.file('out/index.html'), 'utf8')).not.toBe(before);
  });

  it('when index.html is not a report, leaves it alone', () => {
    const bench = small();
    mkdirSync(bench.file('site'));
    writeFileSync(bench.file('site/index.html'), '<h1>my nursery</h1>');
    const { stderr } = bench.expect(2, ['report', '--out', 'site']);
    expect(stderr).toContain('site/index.html');
    expect(readFileSync(bench.file('site/index.html'), 'utf8')).toBe('<h1>my nursery</h1>');
  });

  it('when the folder is a file, or none is named, or there is no ledger, writes nothing', () => {
    const bench = small();
    expect(bench.expect(2, ['report', '--out', 'plants.csv']).stderr).toContain('plants.csv is a file');
    bench.expect(2, ['report', '--out', 'plants.csv/out']);
    bench.expect(2, ['report', '--out', '']);
    bench.expect(2, ['report']);
    bench.expect(3, ['report', '--out', 'out', '--ledger', 'none']);
    expect(existsSync(bench.file('out'))).toBe(false);
  });
});

interface Share {
  readonly hits: number;
  readonly of: number;
  readonly low: number;
  readonly high: number;
}

interface CrossJson {
  readonly cross: string;
  readonly sown: number;
  readonly alive: number;
  readonly fruited: number;
  readonly types: {
    readonly called: Readonly<Record<string, number>>;
    readonly open: number;
    readonly tests: readonly { readonly of: string; readonly exact_p: number; readonly verdict: string }[];
  };
  readonly persistent_females: Share;
  readonly keepers: Share;
  readonly first_fruit: {
    readonly curve: readonly {
      readonly years: number;
      readonly share_without_fruit: number;
      readonly low: number | null;
      readonly high: number | null;
    }[];
  };
}

interface RankedJson {
  readonly rank: number;
  readonly rank_low: number;
  readonly rank_high: number;
  readonly id: string;
  readonly outdone_by: string | null;
}

describe('the page of a garden', () => {
  let bench: Bench;
  let page: Part;
  let crosses: readonly CrossJson[];
  let ranking: readonly RankedJson[];

  beforeAll(async () => {
    bench = new Bench();
    const ledger = await createLedger(bench.file('pottag-ledger'), 5, 'wren', () => new Date());
    await growGarden(ledger);
    ledger.close();
    bench.expect(0, ['report', '--out', 'out']);
    page = parseHTML(readFileSync(bench.file('out/index.html'), 'utf8')).document;
    crosses = bench.json<{ crosses: CrossJson[] }>(0, ['crosses']).crosses;
    ranking =
      bench.json<{ crops: { ranking: RankedJson[] }[] }>(0, ['keepers', '--top', '25']).crops[0]?.ranking ??
      [];
  });

  afterAll(() => rmSync(bench.folder, { recursive: true, force: true }));

  /** Rows of the table with this title, as texts. */
  function rowsOf(title: string): string[][] {
    const details = [...page.querySelectorAll('details')].find(
      (each) => each.querySelector('summary')?.textContent === title,
    );
    return [...(details?.querySelectorAll('tbody tr') ?? [])].map((row) =>
      [...row.children].map((cell) => (cell.textContent ?? '').replaceAll('\u00a0', ' ')),
    );
  }

  /** Plots whose id begins so, by what they are titled. */
  function plot(title: string): Part {
    const found = [...page.querySelectorAll('svg')].find(
      (svg) => svg.querySelector('title')?.textContent === title,
    );
    if (found === undefined) throw new Error(`no plot ${title}`);
    return found;
  }

  it('lists what crosses counted', () => {
    const rows = rowsOf('Table: seedlings and types of each cross');
    expect(rows.length).toBe(6);
    for (const { cross, sown, alive, fruited, types } of crosses) {
      const row = rows.find(([name]) => name === cross) ?? [];
      expect([row[1], row[3], row[4]]).toEqual([sown, alive, fruited].map(String));
      expect(row.slice(5, 10)).toEqual([...Object.values(types.called), types.open].map(String));
      const test = types.tests.find(({ of }) => of === 'types') ?? types.tests[0];
      if (test?.exact_p != null)
        expect(Number(row[11]?.replace('under 0.001', '0'))).toBeCloseTo(test.exact_p, 2.99);
    }
  });

  it('draws dots and lines of types where they belong', () => {
    let drawn = 0;
    for (const { cross, types, persistent_females: share } of crosses) {
      if (share.of === 0) continue;
      const svg = plot(`Types of ${cross}`);
      const { dots, lines } = marks(svg);
      // The frame is 164 px wide and begins at 122; a quarter of it is 25 %.
      const at = (part: number) => 122 + part * 164;
      expect(dots.slice(0, 4).map(({ x }) => x)).toEqual(
        Object.values(types.called).map((count) => closeTo(at(count / share.of))),
      );
      expect(lines[0]).toEqual({ from: closeTo(at(share.low)), to: closeTo(at(share.high)) });
      drawn++;
    }
    expect(drawn).toBe(5);
  });

  it('says of each cross what its test says', () => {
    const verdicts: Readonly<Record<string, string>> = {
      agrees: 'agrees (exact p',
      contradicts: 'does not agree (exact p',
      'too few': 'too few to conclude anything',
    };
    const figures = [...page.querySelectorAll('#crosses figure')];
    for (const { cross, types, persistent_females: share } of crosses) {
      if (share.of === 0) continue;
      const says =
        figures.find((figure) => figure.querySelector('h3')?.textContent === cross)?.textContent ?? '';
      for (const { verdict } of types.tests) expect(says).toContain(verdicts[verdict]);
    }
  });

  it('lists what crosses estimated of the years to first fruit', () => {
    const rows = rowsOf('Table: seedlings still without fruit, at whole years from sowing');
    expect(rows.length).toBeGreaterThan(20);
    for (const [cross, years, share, band] of rows) {
      const curve = crosses.find((each) => each.cross === cross)?.first_fruit.curve ?? [];
      const step = curve.findLast((each) => each.years <= Number(years));
      expect(Number.parseFloat(share ?? '') / 100).toBeCloseTo(step?.share_without_fruit ?? 1, WHOLE_PERCENT);
      if (step?.low == null || step.high == null) {
        expect(band).toBe('');
      } else {
        const [low = Number.NaN, high = Number.NaN] = (band ?? '').split(' to ').map(Number.parseFloat);
        expect(low / 100).toBeCloseTo(step.low, WHOLE_PERCENT);
        expect(high / 100).toBeCloseTo(step.high, WHOLE_PERCENT);
      }
    }
  });

  it('ranks as keepers does', () => {
    const rows = rowsOf('Table: the best 25 seedlings');
    const best = ranking.slice(0, 25);
    expect(best).toHaveLength(25);
    expect(rows.map((row) => row.slice(0, 3))).toEqual(
      best.map(({ rank, rank_low: low, rank_high: high, id }) => [`${rank}`, `${low}–${high}`, id]),
    );
    const dots = marks(plot('The best seedlings, by rank')).dots.toSorted((a, b) => a.y - b.y);
    expect(dots.map(({ fill }) => fill === 'white')).toEqual(best.map(({ outdone_by: by }) => by !== null));
  });
});

/** Digits of a share that is written in whole percent: at most half a percent off. */
const WHOLE_PERCENT = 1.99;

function closeTo(value: number): unknown {
  return expect.closeTo(value, 1);
}

function marks(svg: Part) {
  const number = (element: Part, name: string) => Number(element.getAttribute(name));
  return {
    // Stars are paths that were moved to their place.
    dots: [...svg.querySelectorAll('circle, path[transform]')].map((dot) => {
      const [, x, y] = /^translate\(([\d.]+),([\d.]+)\)$/.exec(dot.getAttribute('transform') ?? '') ?? [];
      return {
        x: x === undefined ? number(dot, 'cx') : Number(x),
        y: y === undefined ? number(dot, 'cy') : Number(y),
        fill: dot.getAttribute('fill') ?? dot.parentElement?.getAttribute('fill'),
      };
    }),
    lines: [...svg.querySelectorAll('g[stroke-width="2"] line')].map((line) => ({
      from: number(line, 'x1'),
      to: number(line, 'x2'),
    })),
  };
}
