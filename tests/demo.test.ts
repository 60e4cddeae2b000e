/**
 * The demo season's sheets, printed by the real command and read back from rasterised pages: every tag,
 * by two decoders that share no code with the encoder, in the place that `tags --json` says.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { readWithZbar, readWithZxing } from './support/decode.js';
import { makeBench } from './support/pottag.js';
import { type BoxMm, cutOut, type RasterPage, rasterisePdf } from './support/rasterise.js';

interface TagsDocument {
  readonly pages: number;
  readonly tags: readonly {
    readonly id: string;
    readonly text: string;
    readonly page: number;
    readonly symbols: readonly {
      readonly kind: 'qr' | 'code128';
      readonly quiet_mm: number;
      readonly box_mm: BoxMm;
    }[];
  }[];
}

const EXAMPLES = join(import.meta.dirname, '../examples');
const DPI = 300;
/** The design's own figure for how true a place must be. */
const TOLERANCE_MM = 0.2;

const PRINTS: readonly (readonly [args: readonly string[], tags: number])[] = [
  [['--kind', 'seedling', '--stock', 'a4-24-64x34'], 180],
  [['--kind', 'parent', '--stock', 'a4-14-99x38', '--symbol', 'both'], 10],
  [['--kind', 'cutting', '--stock', 'stake-a4-16x127'], 8],
];

it("every tag of the demo's sheets is read by both decoders, and stands where it is said to", async () => {
  const bench = makeBench();
  for (const [name, ...options] of [
    ['parents'],
    ['seedlings-2023'],
    ['seedlings-2024', '--dates', 'dmy'],
    ['cuttings'],
  ]) {
    bench.expect(0, ['enrol', join(EXAMPLES, `${name}.csv`), ...options]);
  }
  for (const [args, count] of PRINTS) {
    const document = bench.json<TagsDocument>(0, ['tags', '--untagged', ...args, '--out', 'tags.pdf']);
    expect(document.tags).toHaveLength(count);
    const pages = await rasterisePdf(readFileSync(bench.file('tags.pdf')), DPI);
    expect(pages).toHaveLength(document.pages);
    for (const { text, page, symbols } of document.tags) {
      for (const symbol of symbols) {
        const around = withMargin(symbol.box_mm, symbol.quiet_mm * 0.9);
        const picture = cutOut(pages[page - 1] as RasterPage, around);
        expect(await readWithZxing(picture).then(texts), `${text} ${symbol.kind}, first decoder`).toEqual([
          text,
        ]);
        expect(await readWithZbar(picture).then(texts), `${text} ${symbol.kind}, second decoder`).toEqual([
          text,
        ]);
        if (symbol.kind === 'qr') expectInPlace(text, darkBox(picture, around), symbol.box_mm);
      }
    }
  }
  bench.expect(0, ['check']);
}, 240_000);

it('the demo runs, and each command that it ends with works as printed', () => {
  const root = join(import.meta.dirname, '..');
  const node = (args: readonly string[]) =>
    spawnSync(process.execPath, args, { cwd: root, encoding: 'utf8' });
  const demo = node(['--import', 'tsx', 'examples/season.ts']);
  expect(demo.status, demo.stdout + demo.stderr).toBe(0);
  // What examples/README.md tells of it.
  for (const told of [
    /It is 1MS2E 99\.8 %/,
    /It is FD7GN 99\.6 %/,
    /2026-09-16 called persistent female/,
    /\n +1 +1–2 +XDPKN/,
    /1 of 22 that had their chance.*\n +79 more seedlings/,
    /Pick before the frost[\s\S]*Can wait under cover[\s\S]*Too far off/,
  ]) {
    expect(demo.stdout).toMatch(told);
  }
  const commands = demo.stdout.split('\n').filter((line) => line.startsWith('node '));
  expect(commands.length).toBeGreaterThanOrEqual(4);
  for (const command of commands) {
    const run = node(command.split(' ').slice(1));
    expect(run.status, `${command}\n${run.stdout}${run.stderr}`).toBe(0);
  }
}, 240_000);

function texts(found: readonly { readonly text: string }[]): string[] {
  return found.map(({ text }) => text);
}

function withMargin({ x, y, width, height }: BoxMm, margin: number): BoxMm {
  return { x: x - margin, y: y - margin, width: width + 2 * margin, height: height + 2 * margin };
}

/** Where the ink is, in mm of the page; around a QR code nothing else is inside its quiet zone. */
function darkBox({ data, width, pxPerMmX, pxPerMmY }: RasterPage, around: BoxMm): BoxMm {
  let [left, top, right, bottom] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, -1, -1];
  data.forEach((level, index) => {
    if (level > 127) return;
    const [x, y] = [index % width, Math.floor(index / width)];
    [left, right] = [Math.min(left, x), Math.max(right, x + 1)];
    [top, bottom] = [Math.min(top, y), Math.max(bottom, y + 1)];
  });
  return {
    x: Math.round(around.x * pxPerMmX) / pxPerMmX + left / pxPerMmX,
    y: Math.round(around.y * pxPerMmY) / pxPerMmY + top / pxPerMmY,
    width: (right - left) / pxPerMmX,
    height: (bottom - top) / pxPerMmY,
  };
}

function expectInPlace(text: string, found: BoxMm, said: BoxMm): void {
  for (const side of ['x', 'y', 'width', 'height'] as const) {
    expect(Math.abs(found[side] - said[side]), `${text}: ${side}`).toBeLessThan(TOLERANCE_MM);
  }
}
