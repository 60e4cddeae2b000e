/**
 * How the printed page lies in a picture, from the symbols read in it: which found symbol is which
 * printed one, and the map from pixels to the page's mm that most of them agree on. Tags in a wrong
 * cell, torn off or foreign disagree and are left out; so is the wrong copy of a tag printed twice.
 */

import {
  centroid,
  composed,
  distance,
  fitAffine,
  fitHomography,
  fitSimilarity,
  IDENTITY,
  mapPoint,
  median,
  type Pair,
  type PlaneMap,
  type Point,
} from './projective.js';
import type { PrintedPage, PrintedSymbol, PrintedTag } from './reference.js';
import { cornersOf } from './reference.js';
import { type FoundSymbol, finderCorners } from './symbols.js';

/** A found symbol with the printed ones it may be: those of its kind that bear its tag. */
interface Candidates {
  readonly found: FoundSymbol;
  readonly printed: readonly { readonly tag: PrintedTag; readonly symbol: PrintedSymbol }[];
}

/** So many found symbols are tried as the one to start from. */
const MOST_STARTS = 40;

/** How far a symbol may lie from where the map has it: a share of the distance from the start, and mm. */
const ROUNDS = [
  { mm: 5, share: 0.06 },
  { mm: 4, share: 0.02 },
  { mm: 3, share: 0 },
  { mm: 2.5, share: 0 },
  { mm: 2.5, share: 0 },
] as const;

/**
 * The map from picture to page mm; null when no found symbol is on the page.
 * @param plane pixels already brought near to mm where the paper's edges are known
 */
export function findPose(candidates: readonly Candidates[], plane: PlaneMap): PlaneMap | null {
  const known = candidates
    .filter(({ printed }) => printed.length > 0)
    .map(({ found, printed }) => ({
      points: points(found).map((point) => mapPoint(plane, point)),
      printed: printed.map(({ symbol }) => ownPoints(symbol)),
    }));
  let best: { readonly matches: readonly Match[]; readonly map: PlaneMap } | null = null;
  const stride = Math.max(1, Math.floor(known.length / MOST_STARTS));
  for (let at = 0; at < known.length; at += stride) {
    const start = known[at] as Known;
    for (const printed of start.printed) {
      const map = fitSimilarity(paired(start.points, printed));
      if (map === null) continue;
      const matches = matchAll(known, map, centroid(printed), ROUNDS[0]);
      if (matches.length > (best?.matches.length ?? 0)) best = { matches, map };
    }
  }
  if (best === null) return null;
  let { map, matches } = best;
  for (const round of ROUNDS.slice(1)) {
    map = fitMatches(matches) ?? map;
    matches = matchAll(known, map, centroid(matches[0]?.printed ?? []), round);
  }
  const final = fitMatches(matches) ?? map;
  return composed(final, plane);
}

interface Known {
  readonly points: readonly Point[];
  readonly printed: readonly (readonly Point[])[];
}

interface Match {
  readonly points: readonly Point[];
  readonly printed: readonly Point[];
}

function matchAll(
  known: readonly Known[],
  map: PlaneMap,
  start: Point,
  { mm, share }: { readonly mm: number; readonly share: number },
): Match[] {
  return known.flatMap(({ points: seen, printed }) => {
    const at = mapPoint(map, centroid(seen));
    const [nearest] = printed
      .map((place) => ({ place, off: distance(centroid(place), at) }))
      .sort((a, b) => a.off - b.off);
    if (nearest === undefined || nearest.off > mm + share * distance(centroid(nearest.place), start))
      return [];
    return [{ points: seen, printed: nearest.place }];
  });
}

/** A pose made truer by points known exactly: `from` where it has them, `to` where they were printed. */
export function refinedPose(pose: PlaneMap, pairs: readonly Pair[]): PlaneMap {
  let kept = pairs;
  let map: PlaneMap = IDENTITY;
  for (let round = 0; round < 4; round++) {
    const fitted = fitPairs(
      kept,
      kept.map(({ to }) => to),
    );
    if (fitted === null || kept.length < 3) return pose;
    map = fitted;
    const off = pairs.map(({ from, to }) => distance(mapPoint(fitted, from), to));
    const limit = Math.max(0.3, 4 * median(off));
    kept = pairs.filter((_, index) => (off[index] ?? 0) <= limit);
  }
  return composed(map, pose);
}

/** A homography needs symbols all over the page, an affine map some, a similarity two points. */
function fitMatches(matches: readonly Match[]): PlaneMap | null {
  return fitPairs(
    matches.flatMap((match) => paired(match.points, match.printed)),
    matches.map(({ printed }) => centroid(printed)),
  );
}

function fitPairs(pairs: readonly Pair[], centres: readonly Point[]): PlaneMap | null {
  const span = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  const spread = Math.min(span(centres.map(({ x }) => x)), span(centres.map(({ y }) => y)));
  if (centres.length >= 6 && spread >= 40) return fitHomography(pairs);
  if (centres.length >= 3 && spread >= 10) return fitAffine(pairs);
  return fitSimilarity(pairs);
}

function paired(from: readonly Point[], to: readonly Point[]): Pair[] {
  return from.flatMap((point, index) => {
    const other = to[index];
    return other === undefined ? [] : [{ from: point, to: other }];
  });
}

/** Of a QR code the corners with finders; the two ends of a Code 128, of whose height decoders see a part. */
function points({ kind, corners }: FoundSymbol): readonly Point[] {
  return kind === 'qr' ? finderCorners(corners) : ends(corners);
}

/** The same points of a symbol as printed, mm, from its own top left. */
function ownPoints(symbol: PrintedSymbol): readonly Point[] {
  const corners = ownCorners(symbol);
  return symbol.kind === 'qr' ? finderCorners(corners) : ends(corners);
}

/** A printed symbol's corners clockwise from its own top left. */
export function ownCorners({ boxMm, turn }: PrintedSymbol): readonly [Point, Point, Point, Point] {
  const [a, b, c, d] = cornersOf(boxMm);
  switch (turn) {
    case 0:
      return [a, b, c, d];
    case 90:
      return [b, c, d, a];
    case 180:
      return [c, d, a, b];
    case 270:
      return [d, a, b, c];
  }
}

function ends([topLeft, topRight, bottomRight, bottomLeft]: readonly [Point, Point, Point, Point]): Point[] {
  return [centroid([topLeft, bottomLeft]), centroid([topRight, bottomRight])];
}

/** Every found symbol with the printed ones it may be. */
export function candidatesOf(
  found: readonly FoundSymbol[],
  page: PrintedPage,
  nameOf: (text: string) => string | null,
): Candidates[] {
  const byName = new Map<string, { tag: PrintedTag; symbol: PrintedSymbol }[]>();
  for (const tag of page.tags) {
    for (const symbol of tag.symbols) {
      const name = `${symbol.kind} ${nameOf(symbol.text)}`;
      byName.set(name, [...(byName.get(name) ?? []), { tag, symbol }]);
    }
  }
  return found.map((symbol) => ({
    found: symbol,
    printed: byName.get(`${symbol.kind} ${nameOf(symbol.text)}`) ?? [],
  }));
}
