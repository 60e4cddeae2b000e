/** A photo of a damaged tag, from the printed PDF to the plant. */
import { existsSync, readFileSync } from 'node:fs';
import sharp from 'sharp';
import { expect, it } from 'vitest';
import type { WeatherTag } from '../bench/weather-tags.js';
import { encodePhoto, grayOf, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { readWithZbar, readWithZxing } from '../support/decode.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { cutOut, rasterisePdf } from '../support/rasterise.js';
import { withoutSymbol } from '../support/without-symbol.js';

interface PrintedTag {
  readonly text: string;
  readonly box_mm: {
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly height: number;
  };
  readonly symbols: readonly {
    readonly module_mm: number;
    readonly box_mm: {
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
    };
  }[];
}

/** A ledger of four tagged plants, and the second one's tag. */
async function printed(bench: Bench, symbolKind: 'qr' | 'code128'): Promise<WeatherTag> {
  bench.write('plants.csv', 'key\na\nb\nc\nd\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  const run = bench.expect(0, [
    ...['tags', '--all', '--stock', 'a4-21-64x38', '--symbol', symbolKind],
    ...['--out', 'x.pdf', '--json'],
  ]);
  const tag = (JSON.parse(run.stdout) as { tags: PrintedTag[] }).tags[1];
  const symbol = tag?.symbols[0];
  const [page] = await rasterisePdf(readFileSync(bench.file('x.pdf')), 300);
  if (tag === undefined || symbol === undefined || page === undefined) throw new Error('a page of tags');
  const face = cutOut(page, tag.box_mm);
  const { x, y } = symbol.box_mm;
  return {
    text: tag.text,
    face,
    facePxPerMm: face.pxPerMmX,
    moduleMm: symbol.module_mm,
    symbolMm: { ...symbol.box_mm, x: x - tag.box_mm.x, y: y - tag.box_mm.y },
  };
}

/** A photo of it, some of its code under mud. */
async function muddy(
  bench: Bench,
  symbolKind: 'qr' | 'code128' = 'qr',
  mudShare = 0.4,
): Promise<{ text: string; jpeg: Uint8Array }> {
  const { text, face, facePxPerMm, moduleMm, symbolMm } = await printed(bench, symbolKind);
  const damage = {
    ...NO_DAMAGE,
    pxPerMm: (symbolKind === 'qr' ? 4 : 2.5) / moduleMm,
    tiltDeg: 15,
    rotationDeg: 200,
    mudShare,
    mudBlobs: 3,
    dirtBox: symbolMm,
  };
  const photo = photograph(lone(face, facePxPerMm), damage, 3);
  // Hard enough that neither decoder reads it, or this would prove nothing.
  expect([...(await readWithZxing(grayOf(photo))), ...(await readWithZbar(grayOf(photo)))]).toEqual([]);
  return { text, jpeg: await encodePhoto(photo, 'jpeg') };
}

/** A photo of it, its code scraped off. */
async function scraped(bench: Bench): Promise<{ text: string; jpeg: Uint8Array }> {
  const { text, face, facePxPerMm } = withoutSymbol(await printed(bench, 'qr'));
  const damage = { ...NO_DAMAGE, pxPerMm: 9, tiltDeg: 15, rotationDeg: 200 };
  return { text, jpeg: await encodePhoto(photograph(lone(face, facePxPerMm), damage, 3), 'jpeg') };
}

it('when no decoder reads a tag, it is read by the tags there are, and --explain shows how', async () => {
  const bench = makeBench();
  const { text, jpeg } = await muddy(bench);
  bench.write('muddy.jpg', jpeg);
  const run = bench.expect(0, ['scan', '--photo', 'muddy.jpg', '--explain', 'why.png', '--json']);
  const [scan] = (JSON.parse(run.stdout) as { scans: Record<string, unknown>[] }).scans;
  expect(scan).toMatchObject({ text, status: 'current', read_by: 'ledger', read_from: 'symbol' });
  expect(scan?.candidates).toEqual([]);
  expect(scan?.probability).toBeGreaterThanOrEqual(0.9999);
  const { width, height } = await sharp(bench.file('why.png')).metadata();
  // The tag and its symbol side by side, and under them the printed ID, twice too.
  expect(width).toBeGreaterThan(1.5 * (height ?? 0));
  expect(run.stderr).toContain('why.png: Left the tag as the camera sees it');
  expect(run.stderr).toContain(`Right the tag ${text}, over 99.99 % likely.`);
});

it('when no decoder reads a Code 128, its plant is named by the bars that are left, and --explain shows them', async () => {
  const bench = makeBench();
  const { text, jpeg } = await muddy(bench, 'code128', 0.3);
  bench.write('muddy.jpg', jpeg);
  const run = bench.run(['scan', '--photo', 'muddy.jpg', '--explain', 'why.png', '--json']);
  const [scan] = (JSON.parse(run.stdout) as { scans: { candidates: { id: string }[] }[] }).scans;
  expect(scan?.candidates[0]?.id).toBe(text.split('.')[0]);
  expect(run.stderr).toContain('why.png: Above the bars as the camera sees them');
  const { width, height } = await sharp(bench.file('why.png')).metadata();
  expect(width).toBeGreaterThan(1.5 * (height ?? 0));
}, 300_000);

it('when only the printed ID is left, its plant is offered, and --explain shows the ID', async () => {
  const bench = makeBench();
  const { text, jpeg } = await scraped(bench);
  bench.write('scraped.jpg', jpeg);
  const run = bench.expect(1, ['scan', '--photo', 'scraped.jpg', '--explain', 'why.png', '--json']);
  const [scan] = (JSON.parse(run.stdout) as { scans: { candidates: { id: string; because: string }[] }[] })
    .scans;
  expect(scan).toMatchObject({
    ...{ status: 'unreadable', plant: null, read_by: 'ledger', read_from: 'id', probability: 0.999 },
    candidates: [{ probability: 0.999 }],
  });
  expect(scan?.candidates.map(({ id }) => id)).toEqual([text.split('.')[0]]);
  expect(scan?.candidates[0]?.because).toBe('99 % likely by the printed ID alone');
  expect(run.stderr).toContain('why.png: Left the printed ID as the camera sees it');
  const { width, height } = await sharp(bench.file('why.png')).metadata();
  expect(width).toBeGreaterThan(4 * (height ?? 0));
});

it('when the tag is of another ledger, nothing is read or offered', async () => {
  const { jpeg } = await muddy(makeBench());
  const bench = makeBench();
  // Plants get their IDs in the same order everywhere: the tag's plant is the second one, which has none here.
  bench.write('plants.csv', 'key\na\nb\nc\nd\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  bench.expect(0, ['tags', 'PXSV9', '--stock', 'a4-21-64x38', '--out', 'x.pdf']);
  bench.write('muddy.jpg', jpeg);
  const run = bench.expect(1, ['scan', '--photo', 'muddy.jpg', '--explain', 'why.png', '--json']);
  expect(run.stderr).toContain('No tag of this ledger is likely there.');
  expect(JSON.parse(run.stdout)).toMatchObject({
    scans: [{ status: 'unreadable', text: null, read_by: null, plant: null, candidates: [] }],
  });
});

it('when the picture of why cannot be written, or would replace the photo, nothing is recorded', async () => {
  const bench = makeBench();
  const { text, jpeg } = await muddy(bench);
  bench.write('muddy.jpg', jpeg);
  for (const file of ['nowhere/why.png', 'muddy.jpg', './muddy.jpg']) {
    bench.expect(2, ['scan', '--photo', 'muddy.jpg', '--fruit', 'ripe', '--explain', file]);
  }
  expect(new Uint8Array(readFileSync(bench.file('muddy.jpg')))).toEqual(new Uint8Array(jpeg));
  const shown = bench.json<{ observations: object[] }>(0, ['show', text.split('.')[0] ?? '']);
  expect(shown.observations).toEqual([]);
});

it('when --explain is given without one photo, the call is refused', () => {
  const bench = makeBench();
  const run = bench.run(['scan', 'PXSV9', '--explain', 'why.png']);
  expect(run.status, run.stderr).toBe(2);
  expect(existsSync(bench.file('why.png'))).toBe(false);
});
