/** The symbols found on a sheet: whole pictures first, then a closer look where one should be. */
import { readTagText } from '../../codes/tag-text.js';
import type { IdLength, PlantId } from '../../ids/plant-id.js';
import { type CodeKind, decodeWithZxing } from '../../scan/decoders.js';
import { readPicture } from '../../scan/photo.js';
import { type GrayPicture, resized } from '../../scan/picture.js';
import type { Corners } from '../../scan/point.js';
import { centroid, type Point } from './projective.js';
import { cutOut } from './sampling.js';

export interface FoundSymbol {
  readonly text: string;
  readonly kind: CodeKind;
  /** In pixels of the whole picture, clockwise from the symbol's own top left. */
  readonly corners: Corners;
}

/**
 * The corners of a QR code that have a finder pattern: top left, top right, bottom left. The fourth is
 * only reckoned from them where there is no alignment pattern (version 1), and may be off by modules.
 */
export function finderCorners<P>([topLeft, topRight, , bottomLeft]: readonly [P, P, P, P]): readonly [
  P,
  P,
  P,
] {
  return [topLeft, topRight, bottomLeft];
}

/** The middle of a symbol, of a QR code between the two finder patterns that lie opposite. */
export function middleOf({ kind, corners }: Pick<FoundSymbol, 'kind' | 'corners'>): Point {
  return centroid(kind === 'qr' ? finderCorners(corners).slice(1) : corners);
}

/** Everything read in a picture of a whole sheet. */
export async function readSheet(picture: GrayPicture): Promise<FoundSymbol[]> {
  // One decoder is enough for the bulk; what it leaves is looked for one by one, with both.
  const found = await decodeWithZxing(picture, 'sharp');
  return found.length > 0 ? found : [...(await readPicture(picture)).codes];
}

/** A place smaller than this is doubled before it is read: a decoder wants some pixels a module. */
const SMALL_PX = 220;

/** What is read in a part of the picture, with every means there is. */
export async function readPart(
  picture: GrayPicture,
  box: { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number },
): Promise<FoundSymbol[]> {
  const part = cutOut(picture, box);
  if (part === null) return [];
  const scale = Math.min(part.width, part.height) < SMALL_PX ? 2 : 1;
  const { codes } = await readPicture(scale === 1 ? part : await resized(part, scale));
  return codes.map(({ text, kind, corners }) => ({
    text,
    kind,
    corners: corners.map(({ x, y }) => ({
      x: x / scale + part.left,
      y: y / scale + part.top,
    })) as unknown as Corners,
  }));
}

export interface TagName {
  readonly id: PlantId;
  readonly issue: number;
}

/** The tag that a symbol's text names; null when it names none. */
export function tagNamed(text: string, idLength: IdLength): TagName | null {
  const reading = readTagText(text, idLength);
  return reading.kind === 'sound' && reading.issue !== null ? { id: reading.id, issue: reading.issue } : null;
}

/** `K7FY5.1`: one name for a tag, however its symbol writes it. */
export const keyOf = ({ id, issue }: TagName): string => `${id}.${issue}`;
