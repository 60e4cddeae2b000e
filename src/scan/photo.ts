/**
 * Reads the QR and Code 128 symbols in a photo by the ordinary means: two decoders, and, when they read
 * nothing, the same two on the picture prepared in several ways.
 *
 * A further means that needs more than the picture (what tags there are) starts from `loadPicture` too,
 * and runs where `readPicture` returns no codes.
 */
import {
  type CodeKind,
  type Corners,
  type DecoderRead,
  decodeWithZbar,
  decodeWithZxing,
} from './decoders.js';
import { blurred, evened, type GrayPicture, loadPicture, resized, sharpened } from './picture.js';

export type DecoderName = 'zxing' | 'zbar';

/** How the picture was prepared when a code was read: as it was, or one of the rescue steps in turn. */
export type PreparationName = 'as taken' | 'blurred' | 'half size' | 'double size, sharpened' | 'evened';

export interface PhotoCode {
  readonly text: string;
  readonly kind: CodeKind;
  /** In pixels of the upright picture, clockwise from the symbol's own top left. */
  readonly corners: Corners;
  readonly readBy: readonly DecoderName[];
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
  const codes = (await readOnce(picture, 1, 'as taken')) ?? (await rescue(picture)) ?? [];
  return { widthPx: picture.width, heightPx: picture.height, codes };
}

/** What both decoders read in one preparation of the picture, `scale` times its size; null when nothing. */
async function readOnce(
  picture: GrayPicture,
  scale: number,
  step: PreparationName,
): Promise<PhotoCode[] | null> {
  const byZxing = await decodeWithZxing(picture);
  const byZbar = await decodeWithZbar(picture);
  const codes = mergeReads(byZxing, byZbar);
  if (codes.length === 0) return null;
  return codes.map(({ text, kind, corners, readBy }) => ({
    text,
    kind,
    corners: corners.map(({ x, y }) => ({ x: x / scale, y: y / scale })) as unknown as Corners,
    readBy,
    step,
  }));
}

/** A large picture is brought down to this before it is rescued: each step costs as much as a first look. */
const RESCUE_PIXELS = 12e6;
/** Above this a picture is not doubled: the tag that needs it is a speck among millions of pixels. */
const DOUBLED_PIXELS = 3e6;

/** The preparations that were found to help, cheapest gain first (see DEVELOPERS.md); stops at the first read. */
async function rescue(picture: GrayPicture): Promise<PhotoCode[] | null> {
  const pixels = picture.width * picture.height;
  const scale = Math.min(1, Math.sqrt(RESCUE_PIXELS / pixels));
  const base = scale < 1 ? await resized(picture, scale) : picture;
  return (
    (await readOnce(await blurred(base, 1), scale, 'blurred')) ??
    (await readOnce(await resized(base, 0.5), scale / 2, 'half size')) ??
    (pixels <= DOUBLED_PIXELS
      ? await readOnce(await sharpened(await resized(base, 2), 5, 2.5), scale * 2, 'double size, sharpened')
      : null) ??
    (await readOnce(evened(base, 20), scale, 'evened'))
  );
}

interface MergedRead {
  readonly text: string;
  readonly kind: CodeKind;
  readonly corners: Corners;
  readonly readBy: readonly DecoderName[];
}

/** A Code 128 that only one decoder reads has to have been read on this many lines: mud can forge one or two. */
const LINES_ALONE = 3;

/**
 * One list of what the two decoders read. The same text near the same place is one symbol; the same text
 * elsewhere is another tag. Where the two contradict each other about one symbol, neither is believed,
 * save that ZBar does not know Code 128's letters beyond ASCII.
 */
export function mergeReads(byZxing: readonly DecoderRead[], byZbar: readonly DecoderRead[]): MergedRead[] {
  const agrees = (a: DecoderRead, b: DecoderRead): boolean =>
    a.kind === b.kind && a.text === b.text && isNear(a, b);
  const contradicts = (a: DecoderRead, b: DecoderRead): boolean =>
    a.kind === b.kind && a.text !== b.text && isSamePlace(a, b);
  const isEnough = (read: DecoderRead): boolean => read.kind === 'qr' || read.lineCount >= LINES_ALONE;
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
