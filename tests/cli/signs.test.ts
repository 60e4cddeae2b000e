import { readdirSync, readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { readWithZxing } from '../support/decode.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { rasterisePdf } from '../support/rasterise.js';

let bench: Bench;

beforeEach(() => {
  bench = makeBench();
  const rows = ['a,bench 1 / 10', 'b,bench 1 / 9', 'c,Bench 1/09', 'd,bench 2 / 1', 'e,'];
  bench.write('plants.csv', `key,station\n${rows.join('\n')}\n`);
  bench.expect(0, ['enrol', 'plants.csv']);
});

interface SignsDocument {
  readonly signs: readonly { readonly station: string; readonly text: string; readonly page: number }[];
}

describe('signs', () => {
  const STOCK = ['--stock', 'a4-24-64x34'];

  it('prints one for each station that begins so, in the order of walking, and records nothing', async () => {
    const before = bench.json<object>(0, ['check']);
    const { signs } = bench.json<SignsDocument>(0, [
      'signs',
      '--station',
      'bench 1',
      ...STOCK,
      '--out',
      's.pdf',
    ]);
    expect(signs.map(({ text }) => text)).toEqual(['station bench 1 / 9', 'station bench 1 / 10']);
    const [page] = await rasterisePdf(readFileSync(bench.file('s.pdf')), 300);
    const read = await readWithZxing(page as NonNullable<typeof page>);
    expect(read.map(({ text }) => text).sort()).toEqual(signs.map(({ text }) => text).sort());
    expect(bench.json<object>(0, ['check'])).toEqual(before);
  });

  it('prints named ones, each once, as a picture a label for a label printer', () => {
    const { signs } = bench.json<SignsDocument>(0, [
      'signs',
      'gate',
      ' gate ',
      'shelf 2',
      '--stock',
      'roll-203-57x32',
      '--out',
      'labels/',
    ]);
    expect(signs.map(({ station, page }) => [station, page])).toEqual([
      ['gate', 1],
      ['shelf 2', 2],
    ]);
    expect(readdirSync(bench.file('labels'))).toEqual(['page-1.png', 'page-2.png']);
  });

  it('without stations, or on labels too small, ends with 2', () => {
    expect(bench.expect(2, ['signs', ...STOCK, '--out', 's.pdf']).stderr).toMatch(/No station is named/);
    const none = ['signs', '--station', 'bench 7', ...STOCK, '--out', 's.pdf'];
    expect(bench.expect(2, none).stderr).toMatch(/begins with "bench 7"/);
    const small = ['signs', 'bench 2 / row 3 / 7', '--stock', 'a4-189-25x10', '--out', 's.pdf'];
    expect(bench.expect(2, small).stderr).toMatch(/does not fit.*\n.*larger stock/);
  });

  it('scanned where a tag is wanted, is told from one', () => {
    const said = bench.expect(1, ['scan', 'station bench 1 / 9']);
    expect(said.stdout).toMatch(/not-a-tag\n {2}The sign of the station "bench 1 \/ 9", no plant's tag/);
    expect(bench.expect(2, ['show', 'station bench 1']).stderr).toMatch(/sign of the station/);
  });
});
