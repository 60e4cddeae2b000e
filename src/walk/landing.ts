/**
 * Where a pot that moved was set down: only where there was room. Of the places that were free, near ones are
 * likelier; so a place is the likelier the fewer others there were nearer by.
 */
import type { Comparison } from './findings.js';
import { WALK } from './parameters.js';
import { type Distance, distance, type MovedTo, type Place, shareOfMoves } from './stations.js';

const ONE_PLACE: Distance = { kind: 'row', places: 1 };
const ELSEWHERE: Distance = { kind: 'elsewhere' };

export class Landing {
  readonly #free = new Map<string, Place[]>();
  readonly #freeKeys: ReadonlySet<string>;
  readonly #sums = new Map<string, number>();

  /**
   * @param free places of the walk where surely no pot belongs that stands there still
   * @param walked how many stations were walked
   * @param stations how many there are in the garden
   */
  constructor(
    free: readonly Place[],
    readonly walked: number,
    readonly stations: number,
    readonly movedTo: MovedTo,
  ) {
    this.#freeKeys = new Set(free.map(({ key }) => key));
    for (const place of free) {
      const bench = this.#free.get(benchOf(place));
      if (bench === undefined) this.#free.set(benchOf(place), [place]);
      else bench.push(place);
    }
  }

  /** How many free places there were on the walk. */
  get freeCount(): number {
    return this.#freeKeys.size;
  }

  /** That a pot that left `home` (null: nobody knows where it was) was set down at just this place. */
  pot(home: Place | null, to: Place): number {
    const own = this.#weight(home === null ? ELSEWHERE : distance(home, to));
    if (own === 0) return 0;
    return own / (this.#sum(home) + (this.#freeKeys.has(to.key) ? 0 : own));
  }

  /** That a tag from the pot at `home` was stuck into the pot at this place: there are pots everywhere. */
  tag(home: Place | null, to: Place): number {
    const way = home === null ? ELSEWHERE : distance(home, to);
    return this.#weight(way.kind === 'same' ? ONE_PLACE : way);
  }

  /** The same for a pot that came to this place from another: the tag came to it here or there. */
  tagOfMoved(home: Place | null, from: Place | null, to: Place): number {
    if (from === null || from.key === to.key) return this.tag(home, to);
    return (this.tag(home, from) + this.tag(home, to)) / 2;
  }

  #weight(way: Distance): number {
    return shareOfMoves(way, this.movedTo, this.stations);
  }

  /** Over all free places, those that were not walked counted by the share of the others that was free. */
  #sum(home: Place | null): number {
    const key = home?.key ?? '';
    const before = this.#sums.get(key);
    if (before !== undefined) return before;
    const far = this.#weight(ELSEWHERE);
    const near = home === null ? [] : (this.#free.get(benchOf(home)) ?? []);
    const unwalked = (Math.max(0, this.stations - this.walked) * (this.freeCount + 1)) / (this.walked + 1);
    let sum = WALK.outOfSight + (this.freeCount - near.length + unwalked) * far;
    for (const place of near) sum += this.#weight(distance(home as Place, place));
    this.#sums.set(key, sum);
    return sum;
  }
}

/** Alike for the places of one bench, beyond which no distance is known. */
function benchOf({ system, coordinates }: Place): string {
  return `${system} ${coordinates.length} ${coordinates.slice(0, -2).join(' ')}`;
}

/** Where nothing stands, or a pot that does not belong there and displaced none that does. */
export function freePlaces({ findings, openPots }: Comparison): Place[] {
  const isOpen = new Set(openPots.map(({ spot }) => spot));
  return findings.flatMap(({ kind, spots, plants }) =>
    spots.flatMap((spot) => {
      const isRoom =
        spot.reading.kind === 'no pot' ||
        kind === 'moved' ||
        (plants.length === 0 && (isOpen.has(spot) || kind === 'stranger'));
      return isRoom ? [spot.place] : [];
    }),
  );
}
