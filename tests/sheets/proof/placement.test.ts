/** Which tags are there, missing, unreadable, in a wrong cell, double or foreign. */
import { describe, expect, test } from 'vitest';
import { copied, encodeScan, filled, PLAIN_SCAN, scanSheet, TRUE_PRINT } from '../../support/flatbed.js';
import { type BoxMm, cutOut, type RasterPage } from '../../support/rasterise.js';
import { ids, pagesOf, print, printed, printedSheets, proof, proofPage } from './printed.js';

const STOCK = 'a4-24-64x34';
const DPI = 150;
const SCAN = { ...PLAIN_SCAN, dpi: DPI, turnDeg: -0.5, uneven: 0.3, noise: 0.015 };
const scanned = (page: RasterPage, seed: number) =>
  encodeScan(scanSheet(page, TRUE_PRINT, SCAN, seed), 'png', DPI);

/** Levels of a drawn page: the backing of a label taken off, and a dark thing laid over it. */
const BACKING = 215;
const DARK = 70;

test('torn off, covered, swapped and printed double, each is told by its name', async () => {
  const { ledger, sheets, pages } = await printed(STOCK, 24);
  const tag = (index: number) => sheets.placed[index] as (typeof sheets.placed)[number];
  const clean = pages[0] as RasterPage;
  let page = filled(clean, tag(3).boxMm, BACKING);
  page = filled(page, tag(20).boxMm, DARK);
  page = swapped(page, tag(12).boxMm, tag(17).boxMm);
  page = copied(page, tag(22).boxMm, tag(23).boxMm);
  const { boxMm: smudged } = tag(10).symbols[0] as (typeof sheets.placed)[number]['symbols'][number];
  page = filled(page, { ...smudged, width: smudged.width / 2, height: smudged.height / 2 }, DARK);
  const found = await proofPage(ledger, await scanned(page, 1));
  expect(found.expectedCount).toBe(24);
  expect(found.readCount).toBe(20);
  expect(found.missing.map(({ tag: { id }, because, instead }) => [id, because, instead])).toEqual([
    [tag(3).id, 'empty', null],
    [tag(23).id, 'another tag', tag(22).text],
  ]);
  expect(ids(found.unreadable)).toEqual([tag(10).id, tag(20).id]);
  expect(found.misplaced.map(({ tag: { id }, foundIn }) => [id, foundIn])).toEqual(
    expect.arrayContaining([
      [tag(12).id, tag(17).cell],
      [tag(17).id, tag(12).cell],
    ]),
  );
  expect(found.misplaced).toHaveLength(2);
  expect(found.doubles.map(({ tag: { id }, foundIn }) => [id, foundIn])).toEqual([
    [tag(22).id, tag(23).cell],
  ]);
  expect(found.strangers).toEqual([]);
  // What is wrong with some tags does not spoil the measure.
  expect(found.measured?.worstShiftMm).toBeLessThan(0.2);
});

test('a label that slipped is told from the others', async () => {
  const { ledger, sheets, pages } = await printed(STOCK, 24);
  const { boxMm, id } = sheets.placed[12] as (typeof sheets.placed)[number];
  const clean = pages[0] as RasterPage;
  const without = filled(clean, boxMm, 255);
  const page = { ...without, data: pasted(without, clean, boxMm, { ...boxMm, x: boxMm.x + 1.6 }) };
  const found = await proofPage(ledger, await scanned(page, 2));
  expect(ids(found.misplaced)).toEqual([id]);
  expect(found.misplaced[0]?.foundIn).toEqual(sheets.placed[12]?.cell);
  expect(found.misplaced[0]?.offMm?.x).toBeCloseTo(1.6, 1);
  expect(found.misplaced[0]?.offMm?.y).toBeCloseTo(0, 1);
});

test('a tag of another sheet is a stranger, and its cell is the missing one', async () => {
  const { ledger, sheets, pages } = await printed(STOCK, 24 + 5);
  const [first, foreign] = [pages[0] as RasterPage, pages[1] as RasterPage];
  const [into, from] = [sheets.placed[7], sheets.placed[25]];
  if (into === undefined || from === undefined) throw new Error('too few tags');
  const page = { ...first, data: pasted(first, foreign, from.boxMm, into.boxMm) };
  const found = await proofPage(ledger, await scanned(page, 3));
  expect(found.strangers).toEqual([{ text: from.text, foundIn: into.cell }]);
  expect(ids(found.missing)).toEqual([into.id]);
});

test('copies are expected as often as they were printed', async () => {
  const { ledger, sheets, pages } = await printed(STOCK, 8, { copies: 3 });
  const whole = await proofPage(ledger, await scanned(pages[0] as RasterPage, 4));
  expect([whole.expectedCount, whole.readCount]).toEqual([24, 24]);
  expect([whole.missing, whole.misplaced, whole.doubles]).toEqual([[], [], []]);
  const { boxMm, cell } = sheets.placed[13] as (typeof sheets.placed)[number];
  const torn = await proofPage(ledger, await scanned(filled(pages[0] as RasterPage, boxMm, BACKING), 5));
  expect(torn.missing.map(({ tag }) => tag.cell)).toEqual([cell]);
});

test('both ends of a loop must be readable', async () => {
  const { ledger, sheets, pages } = await printed('loop-a4-200x25', 9);
  const { symbols, id } = sheets.placed[4] as (typeof sheets.placed)[number];
  expect(symbols).toHaveLength(2);
  const page = filled(pages[0] as RasterPage, symbols[1]?.boxMm as BoxMm, DARK);
  const found = await proofPage(ledger, await scanned(page, 6));
  expect(ids(found.unreadable)).toEqual([id]);
  expect(found.readCount).toBe(8);
});

describe('which sheet it is', () => {
  test('a reprint counts as the sheet it was reprinted on', async () => {
    const { ledger, sheets } = await printedSheets(STOCK, 24);
    const again = sheets.placed.slice(5, 9).map(({ id }) => id);
    const reprint = await print(ledger, STOCK, { isReprint: true, firstCell: 20 }, again);
    const found = await proofPage(ledger, await scanned((await pagesOf(reprint))[0] as RasterPage, 7));
    expect(found.expectedCount).toBe(4);
    expect(found.readCount).toBe(4);
    expect(found.missing).toEqual([]);
    expect(found.page.tags[0]?.cell).toEqual({ row: 7, column: 2 });
  });

  test('a page of a longer print is known by its tags', async () => {
    const { ledger, pages } = await printed('letter-10-102x51', 25);
    const found = await proofPage(ledger, await scanned(pages[2] as RasterPage, 8));
    expect(found.page.number).toBe(3);
    expect([found.expectedCount, found.readCount]).toEqual([5, 5]);
  });

  test('a PDF made anew from ours is known by its tags', async () => {
    const { PDFDocument } = await import('pdf-lib');
    const { ledger, sheets } = await printedSheets('letter-10-102x51', 25);
    const copy = await PDFDocument.create();
    const pages = await copy.copyPages(await PDFDocument.load(sheets.pdf), [0, 2]);
    for (const page of pages) copy.addPage(page);
    const found = await proof(ledger, await copy.save());
    expect(found.pages.map(({ page }) => page.number)).toEqual([1, 3]);
    expect(found.pages.map(({ readCount }) => readCount)).toEqual([10, 5]);
    expect(found.missingPages.map(({ page, tags }) => [page, tags.length])).toEqual([[2, 10]]);
  });

  test('labels of a roll are pages, and a picture may show several', async () => {
    const { ledger, pages } = await printed('roll-300-70x40', 3);
    const one = await proofPage(ledger, await scanned(pages[1] as RasterPage, 9));
    expect(one.page.number).toBe(2);
    expect(one.readCount).toBe(1);
    // One tag has a place, but tells nothing of scale.
    expect(one.measured?.scale).toBeNull();
    expect(Math.abs(one.measured?.offsetMm?.x ?? 9)).toBeLessThan(0.2);
    expect(Math.abs(one.measured?.offsetMm?.y ?? 9)).toBeLessThan(0.2);
    const strip = await proof(ledger, await scanned(stacked(pages), 10));
    expect(strip.pages.map(({ page, readCount }) => [page.number, readCount]).sort()).toEqual([
      [1, 1],
      [2, 1],
      [3, 1],
    ]);
  });
});

test('a picture without tags, and one of a foreign ledger, are refused', async () => {
  const { ledger, pages } = await printed('roll-300-70x40', 2);
  const [first, second] = [pages[0] as RasterPage, pages[1] as RasterPage];
  const blank = filled(first, { x: 0, y: 0, width: 69, height: 39 }, 255);
  await expect(proofPage(ledger, await scanned(blank, 11))).rejects.toMatchObject({ code: 'no-tag-read' });
  // The second plant of a ledger: the other has but one.
  const other = await printedSheets('roll-300-70x40', 1);
  await expect(proofPage(other.ledger, await scanned(second, 12))).rejects.toMatchObject({
    code: 'not-of-this-ledger',
    place: { file: 'sheet' },
  });
});

function swapped(page: RasterPage, a: BoxMm, b: BoxMm): RasterPage {
  const once = { ...page, data: pasted(page, page, a, b) };
  return { ...once, data: pasted(once, page, b, a) };
}

/** The pixels of `into` with what `from` shows in one box pasted at another of the same size. */
function pasted(into: RasterPage, from: RasterPage, source: BoxMm, target: BoxMm): Uint8Array {
  const part = cutOut(from, source);
  const data = new Uint8Array(into.data);
  const left = Math.round(target.x * into.pxPerMmX);
  const top = Math.round(target.y * into.pxPerMmY);
  for (let row = 0; row < part.height; row++) {
    data.set(part.data.subarray(row * part.width, (row + 1) * part.width), (top + row) * into.width + left);
  }
  return data;
}

/** Labels one below the other, as they come off the roll. */
function stacked(pages: readonly RasterPage[]): RasterPage {
  const [first] = pages as [RasterPage];
  const data = new Uint8Array(pages.reduce((sum, page) => sum + page.data.length, 0));
  let at = 0;
  for (const page of pages) {
    data.set(page.data, at);
    at += page.data.length;
  }
  return { ...first, data, height: data.length / first.width };
}
