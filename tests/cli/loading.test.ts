/**
 * What a command loads, as V8 saw it (Node's NODE_V8_COVERAGE lists every script of a run): `scan` and
 * `show` must start without the PDF and the barcode-drawing code (design, sections 9 and 10).
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';
import { sampleQrTag } from '../support/sample-tag.js';

const LAUNCHER = resolve(import.meta.dirname, '../../bin/pottag.js');

/** Names that only the package's own code holds: classes of pdf-lib, functions of bwip-js. */
const PDF = /\bPDFDocument\b/;
const BARCODES = /\bbwipp?_\w+|bwip-js/;
/** The entries' schemas are for writing; reading must not pay for them. */
const SCHEMAS = /\bZodObject\b/;
/** The class that the charting library gives its plots. */
const CHARTS = /plot-d6a7b5/;

/** The text of every script that the call loaded, by file. */
function loadedBy(bench: Bench, args: readonly string[], input = ''): Map<string, string> {
  const folder = mkdtempSync(join(bench.folder, 'coverage-'));
  const env = { ...process.env, NODE_V8_COVERAGE: folder, NO_COLOR: '1', POTTAG_BY: 'wren' };
  const run = spawnSync(process.execPath, [LAUNCHER, ...args], {
    cwd: bench.folder,
    input,
    encoding: 'utf8',
    env,
  });
  expect(run.status, run.stdout + run.stderr).toBe(0);
  const files = new Map<string, string>();
  for (const name of readdirSync(folder)) {
    const { result } = JSON.parse(readFileSync(join(folder, name), 'utf8')) as { result: { url: string }[] };
    for (const { url } of result) {
      if (!url.startsWith('file:')) continue;
      files.set(fileURLToPath(url), readFileSync(new URL(url), 'utf8'));
    }
  }
  return files;
}

const holding = (files: ReadonlyMap<string, string>, code: RegExp) =>
  [...files].filter(([file, text]) => code.test(file) || code.test(text)).map(([file]) => file);

function garden(): Bench {
  const bench = makeBench();
  bench.write('plants.csv', 'key\na\nb\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

describe('what is loaded', () => {
  it('by tags: both, so that their marks are known to show', () => {
    const files = loadedBy(garden(), ['tags', 'PXSV9', '--stock', 'a4-65-38x21', '--out', 'x.pdf']);
    expect(holding(files, PDF)).not.toEqual([]);
    expect(holding(files, BARCODES)).not.toEqual([]);
    expect(holding(files, SCHEMAS)).not.toEqual([]);
  });

  const light: readonly (readonly [what: string, args: readonly string[], input: string])[] = [
    ['scan of a tag', ['scan', 'PXSV9'], ''],
    ['scan that records', ['scan', 'PXSV9', '--brix', '18.5'], ''],
    ['a scanning session', ['scan'], 'PXSV9\nbrix 18\n'],
    ['show', ['show', 'PXSV9'], ''],
    ['check', ['check'], ''],
  ];
  for (const [what, args, input] of light) {
    it(`by ${what}: neither the PDF nor the barcode-drawing code`, () => {
      const files = loadedBy(garden(), args, input);
      expect([...files.keys()].some((file) => file.endsWith('main.js'))).toBe(true);
      expect(holding(files, PDF)).toEqual([]);
      expect(holding(files, BARCODES)).toEqual([]);
    });
  }

  it('by a scan or show that writes nothing: no schemas either', () => {
    for (const args of [
      ['scan', 'PXSV9'],
      ['show', 'PXSV9'],
    ]) {
      expect(holding(loadedBy(garden(), args), SCHEMAS)).toEqual([]);
    }
  });

  it('by report: the charting library, and by nothing else', () => {
    const bench = garden();
    expect(holding(loadedBy(bench, ['report', '--out', 'out']), CHARTS)).not.toEqual([]);
    for (const args of [['scan', 'PXSV9'], ['crosses'], ['keepers']]) {
      expect(holding(loadedBy(bench, args), CHARTS)).toEqual([]);
    }
  });

  it('by a scan of a photo: neither', async () => {
    const bench = garden();
    bench.expect(0, ['tags', 'PXSV9', '--stock', 'a4-65-38x21', '--out', 'x.pdf']);
    const { face } = await sampleQrTag('PXSV9.1');
    const { data, width, height } = face;
    const png = await sharp(data, { raw: { width, height, channels: 1 } })
      .png()
      .toBuffer();
    writeFileSync(bench.file('tag.png'), png);
    const files = loadedBy(bench, ['scan', '--photo', 'tag.png']);
    expect(holding(files, PDF)).toEqual([]);
    expect(holding(files, BARCODES)).toEqual([]);
  });
});
