import { describe, expect, it } from 'vitest';
import type { DecoderRead } from '../../src/scan/decoders.js';
import { mergeReads as merge } from '../../src/scan/photo.js';
import type { Corners } from '../../src/scan/point.js';

function box(x: number, y: number, width: number, height: number): Corners {
  return [
    { x, y },
    { x: x + width, y },
    { x: x + width, y: y + height },
    { x, y: y + height },
  ];
}

const qr = (text: string, x: number, y: number, size = 100): DecoderRead => ({
  text,
  kind: 'qr',
  corners: box(x, y, size, size),
  lineCount: 1,
});

const code128 = (text: string, x: number, y: number, lineCount = 20, width = 300): DecoderRead => ({
  text,
  kind: 'code128',
  corners: box(x, y, width, 60),
  lineCount,
});

const mergeReads = (byZxing: DecoderRead[], byZbar: DecoderRead[]) => merge(byZxing, byZbar, 2);

const summary = (reads: ReturnType<typeof mergeReads>): string[] =>
  reads.map(({ text, readBy }) => `${text} by ${readBy.join('+')}`);

describe('mergeReads', () => {
  it('joins what both read at one place', () => {
    expect(summary(mergeReads([qr('K7FY5.1', 10, 10)], [qr('K7FY5.1', 14, 8)]))).toEqual([
      'K7FY5.1 by zxing+zbar',
    ]);
  });

  it('keeps what only one of them reads', () => {
    const merged = mergeReads([qr('K7FY5.1', 0, 0)], [qr('3M9QA.1', 400, 0)]);
    expect(summary(merged)).toEqual(['K7FY5.1 by zxing', '3M9QA.1 by zbar']);
  });

  it('keeps two tags of one text at two places, even beside each other with their quiet zones', () => {
    // 29 modules from centre to centre, where 21 modules are 100 px.
    const merged = mergeReads([qr('K7FY5.1', 0, 0)], [qr('K7FY5.1', 138, 0)]);
    expect(summary(merged)).toEqual(['K7FY5.1 by zxing', 'K7FY5.1 by zbar']);
  });

  it('takes one long ZBar box around two equal Code 128 symbols as both of them', () => {
    const merged = mergeReads(
      [code128('K7FY5.1', 0, 0), code128('K7FY5.1', 900, 0)],
      [code128('K7FY5.1', 0, 0, 40, 1200)],
    );
    expect(summary(merged)).toEqual(['K7FY5.1 by zxing+zbar', 'K7FY5.1 by zxing+zbar']);
  });

  it('believes neither where they contradict each other about one symbol', () => {
    expect(mergeReads([code128('K7FY5.1', 0, 0)], [code128('K7FY6.1', 5, 0)])).toEqual([]);
  });

  it('believes ZXing about letters beyond ASCII, which ZBar does not know', () => {
    const merged = mergeReads([code128('ó1', 0, 0)], [code128('s1', 5, 0)]);
    expect(summary(merged)).toEqual(['ó1 by zxing']);
  });

  it('does not take neighbours, or a long box that holds another symbol, for a contradiction', () => {
    const merged = mergeReads(
      [code128('3M9QA.1', 450, 0)],
      [code128('K7FY5.1', 0, 0, 40, 1200), code128('77J0D.1', 450, 80)],
    );
    expect(summary(merged)).toEqual(['3M9QA.1 by zxing', 'K7FY5.1 by zbar', '77J0D.1 by zbar']);
  });

  it('does not believe a Code 128 seen by one decoder on too few lines', () => {
    expect(mergeReads([], [code128('A3"5E.z', 0, 0, 1)])).toEqual([]);
    expect(summary(mergeReads([], [code128('K7FY5.1', 0, 0, 2)]))).toEqual(['K7FY5.1 by zbar']);
    expect(summary(merge([], [code128('K7FY5.1', 0, 0, 1)], 1))).toEqual(['K7FY5.1 by zbar']);
  });

  it('believes a single line that the other decoder confirms', () => {
    const merged = mergeReads([code128('K7FY5.1', 0, 0)], [code128('K7FY5.1', 0, 20, 1)]);
    expect(summary(merged)).toEqual(['K7FY5.1 by zxing+zbar']);
  });
});
