/**
 * Station names as places. Growers name them as they like (`bench 2 / row 3 / 7`, `A3-07`, `North bench
 * 12`); the numbers and single letters in a name are taken for coordinates, coarsest first, and whatever
 * else it holds for the name of the system they count in.
 */
import { fold, tidy } from '../wording.js';

export interface Place {
  /** Alike for spellings of one station: `Bench 2/row 3/07` and `bench 2 / row 3 / 7`. */
  readonly key: string;
  /** The name without its coordinates. */
  readonly system: string;
  readonly coordinates: readonly number[];
}

export function placeOf(station: string): Place {
  const words = fold(station).match(/\p{N}+|\p{L}+/gu) ?? [];
  const parts = words.map((word) => coordinate(word) ?? word);
  const coordinates = parts.filter((part) => typeof part === 'number');
  const system = parts.map((part) => (typeof part === 'number' ? '#' : part)).join(' ');
  const spelling = words.map((word) => (/^\d+$/.test(word) ? String(Number(word)) : word)).join(' ');
  return { key: spelling === '' ? tidy(station) : spelling, system, coordinates };
}

/** A number as it is, a letter as its place in the alphabet. */
function coordinate(word: string): number | undefined {
  if (/^\d{1,9}$/.test(word)) return Number(word);
  return /^[a-z]$/.test(word) ? word.charCodeAt(0) - 'a'.charCodeAt(0) + 1 : undefined;
}

/** Alike for the stations of one row: all but the last coordinate. */
export function rowOf({ system, coordinates }: Place): string {
  return `${system} ${coordinates.slice(0, -1).join(' ')}`;
}

export type Distance =
  | { readonly kind: 'same' }
  | { readonly kind: 'row'; readonly places: number }
  | { readonly kind: 'bench'; readonly rows: number; readonly places: number }
  | { readonly kind: 'elsewhere' };

const ELSEWHERE: Distance = { kind: 'elsewhere' };

export function distance(from: Place, to: Place): Distance {
  if (from.key === to.key) return { kind: 'same' };
  const count = from.coordinates.length;
  if (from.system !== to.system || to.coordinates.length !== count) return ELSEWHERE;
  const steps = (index: number) => Math.abs((from.coordinates[index] ?? 0) - (to.coordinates[index] ?? 0));
  for (let index = 0; index < count - 2; index++) if (steps(index) !== 0) return ELSEWHERE;
  const [rows, places] = [steps(count - 2), steps(count - 1)];
  if (rows === 0) return places === 0 ? ELSEWHERE : { kind: 'row', places };
  return { kind: 'bench', rows, places };
}

/** Σ 1/k² over k = 1, 2, … (Euler): what makes the shares below add up to one. */
const ALL_SQUARES = Math.PI ** 2 / 6;

/** Of the pots that move, how many stay in their row, on their bench, or do neither; adds up to one. */
export type MovedTo = Readonly<Record<'row' | 'bench' | 'elsewhere', number>>;

/**
 * How likely a pot that moved from one place stands at just this other one. Pots are set down near where they
 * stood, but the nearest free place may be far: the chance falls with the square of the places between.
 * @param stations how many there are in the garden
 */
export function shareOfMoves(way: Distance, movedTo: MovedTo, stations: number): number {
  switch (way.kind) {
    case 'same':
      return 0;
    case 'row':
      return movedTo.row / way.places ** 2 / (2 * ALL_SQUARES);
    case 'bench': {
      const near = 1 / (way.rows * (1 + way.places)) ** 2;
      return (movedTo.bench * near) / (2 * ALL_SQUARES * (2 * ALL_SQUARES - 1));
    }
    case 'elsewhere':
      return movedTo.elsewhere / stations;
  }
}

/** `3 places along the row`. */
export function distanceInWords(way: Distance): string {
  switch (way.kind) {
    case 'same':
      return 'in its own place';
    case 'row':
      return `${way.places} ${way.places === 1 ? 'place' : 'places'} along the row`;
    case 'bench':
      return `${way.rows} ${way.rows === 1 ? 'row' : 'rows'} on`;
    case 'elsewhere':
      return 'on another bench';
  }
}
