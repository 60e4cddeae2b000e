/**
 * Reads the QR and Code 128 symbols in a photo by the ordinary means: two decoders, and, when they read
 * nothing, the same two on the picture prepared in several ways. What needs to know which tags there are
 * comes after it, in `tag-reader.ts`.
 */
import { type CodeKind, type DecoderRead, decodeWithZbar, decodeWithZxing } from './decoders.js';
import { type GrayPicture, loadPicture } from './picture.js';
import type { Corners } from './point.js';
import { type PreparationName, type Prepared, preparations } from './rescue.js';

export type DecoderName = 'zxing' | 'zbar';

export interface PhotoCode {
  readonly text: string;
  readonly kind: CodeKind;
  /** In pixels of the upright picture, clockwise from the symbol's own top left. */
  readonly corners: Corners;
  readonly readBy: readonly DecoderName[];
  /** How the picture had been prepared when the code was read. */
  readonly step: PreparationName;
}

export interface PhotoReading {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Every symbol read, whatever its text: what is not a tag is the caller's to say. */
  readonly codes: readonly PhotoCode[];
}

/** Reads a JPEG, PNG or WebP file. Throws `InputError` when it is not a sound picture of such a kind. */
export async function readPhoto(bytes: Uint8Array): Promise<PhotoReading> {
  return readPicture(await loadPicture(bytes));
}

/** As `readPhoto`, of a picture already loaded. */
export async function readPicture(picture: GrayPicture): Promise<PhotoReading> {
  const { width: widthPx, height: heightPx } = picture;
  const codes = await decoded({ name: 'as taken', picture, toOriginal: (point) => point });
  if (codes.length > 0) return { widthPx, heightPx, codes };
  for await (const prepared of preparations(picture)) {
    const rescued = await decoded(prepared);
    if (rescued.length > 0) return { widthPx, heightPx, codes: rescued };
  }
  return { widthPx, heightPx, codes: [] };
}

/** What both decoders read in one preparation of the picture, with places in the original. */
async function decoded({ name, picture, toOriginal }: Prepared): Promise<PhotoCode[]> {
  const linesAlone = name === 'as taken' ? 1 : RESCUED_LINES_ALONE;
  const merged = mergeReads(await decodeWithZxing(picture), await decodeWithZbar(picture), linesAlone);
  return merged.map((read) => {
    const [a, b, c, d] = read.corners;
    return { ...read, corners: [toOriginal(a), toOriginal(b), toOriginal(c), toOriginal(d)], step: name };
  });
}

interface MergedRead {
  readonly text: string;
  readonly kind: CodeKind;
  readonly corners: Corners;
  readonly readBy: readonly DecoderName[];
}

/**
 * A Code 128 that only one decoder reads in a prepared picture has to have been read on this many lines:
 * sharpening and evening can forge one. In some 20,000 looks at damaged tags all ten wrong reads were of a
 * single line in a prepared picture, none of two, and none in a picture as taken.
 */
const RESCUED_LINES_ALONE = 2;

/**
 * One list of what the two decoders read. The same text near the same place is one symbol; the same text
 * elsewhere is another tag. Where the two contradict each other about one symbol, neither is believed,
 * save that ZBar does not know Code 128's letters beyond ASCII. A Code 128 that only one of them reads
 * has to have been read on `linesAlone` lines.
 */
export function mergeReads(
  byZxing: readonly DecoderRead[],
  byZbar: readonly DecoderRead[],
  linesAlone: number,
): MergedRead[] {
  const agrees = (a: DecoderRead, b: DecoderRead): boolean =>
    a.kind === b.kind && a.text === b.text && isNear(a, b);
  const contradicts = (a: DecoderRead, b: DecoderRead): boolean =>
    a.kind === b.kind && a.text !== b.text && isSamePlace(a, b);
  const isEnough = ({ kind, lineCount }: DecoderRead): boolean => kind === 'qr' || lineCount >= linesAlone;
  const merged: MergedRead[] = [];
  for (const read of byZxing) {
    const { text, kind, corners } = read;
    if (byZbar.some((other) => agrees(read, other))) {
      merged.push({ text, kind, corners, readBy: ['zxing', 'zbar'] });
    } else if (isEnough(read) && (!isAscii(text) || !byZbar.some((other) => contradicts(read, other)))) {
      merged.push({ text, kind, corners, readBy: ['zxing'] });
    }
  }
  for (const read of byZbar) {
    const isSettled = byZxing.some((other) => agrees(read, other) || contradicts(read, other));
    const { text, kind, corners } = read;
    if (!isSettled && isEnough(read)) merged.push({ text, kind, corners, readBy: ['zbar'] });
  }
  return merged;
}

/** Generous: ZBar joins equal Code 128 symbols of one picture into one long box around all of them. */
function isNear(a: DecoderRead, b: DecoderRead): boolean {
  return centreDistance(a, b) <= Math.max(longestSide(a), longestSide(b)) / 2;
}

/** Strict: one symbol and no other can lie there. */
function isSamePlace(a: DecoderRead, b: DecoderRead): boolean {
  const [shorter, longer] = [longestSide(a), longestSide(b)].sort((one, other) => one - other) as [
    number,
    number,
  ];
  return centreDistance(a, b) <= shorter / 4 && longer <= 1.5 * shorter;
}

function centreDistance(a: DecoderRead, b: DecoderRead): number {
  const [from, to] = [centre(a), centre(b)];
  return Math.hypot(from.x - to.x, from.y - to.y);
}

function centre({ corners }: DecoderRead): { x: number; y: number } {
  return {
    x: corners.reduce((sum, corner) => sum + corner.x, 0) / 4,
    y: corners.reduce((sum, corner) => sum + corner.y, 0) / 4,
  };
}

function longestSide({ corners }: DecoderRead): number {
  const [a, b, c] = corners;
  return Math.max(Math.hypot(a.x - b.x, a.y - b.y), Math.hypot(b.x - c.x, b.y - c.y));
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: ASCII is what is meant, its control characters included.
const isAscii = (text: string): boolean => /^[\x00-\x7f]*$/.test(text);
