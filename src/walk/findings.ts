/**
 * A walk held against the ledger: every spot of the walk, and every plant the ledger expects at the
 * stations walked, falls in exactly one finding.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { Plant } from '../ledger/model.js';
import type { Spot } from './readings.js';
import { type Place, placeOf, rowOf } from './stations.js';

/**
 * - `in-place`: as the ledger has it (`plants` is empty where nothing should stand, and nothing does)
 * - `awaiting-tag`: a pot without its tag, whose plant's next or first tag is still to be printed
 * - `exchanged`, `rotated`: two, or more, tags stand in each other's places
 * - `moved`: elsewhere than the ledger has it
 * - `first-place`: the ledger knew no station of this plant
 * - `tag-missing`, `unreadable`: a pot whose tag is gone or spoilt
 * - `pot-missing`: expected at a station walked, and not seen
 * - `duplicate`: the same plant's tag on pots at several stations
 * - `superseded`, `void`, `unissued`: a tag hangs that should not
 * - `stranger`: a tag of another ledger, or none at all
 * - `ended`: the tag of a plant taken for dead or culled
 * - `not-visited`: expected in a row that was walked, at a station that was not
 */
export type FindingKind =
  | 'in-place'
  | 'awaiting-tag'
  | 'exchanged'
  | 'rotated'
  | 'moved'
  | 'first-place'
  | 'tag-missing'
  | 'unreadable'
  | 'pot-missing'
  | 'duplicate'
  | 'superseded'
  | 'void'
  | 'unissued'
  | 'stranger'
  | 'ended'
  | 'not-visited';

export interface Finding {
  readonly kind: FindingKind;
  /** What was seen, in the order of walking; for `exchanged` and `rotated`, spot n has the tag of plant n. */
  readonly spots: readonly Spot[];
  readonly plants: readonly Plant[];
}

/** A pot of which the walk does not say for certain which plant it is. */
export interface OpenPot {
  readonly spot: Spot;
  /** The plant whose tag hangs on it, rightly or not. */
  readonly worn: Plant | null;
}

export interface Comparison {
  /** In the order of walking; those without a spot at the end. */
  readonly findings: readonly Finding[];
  readonly openPots: readonly OpenPot[];
  /** Plants that may stand in an open pot: expected at a station walked, and seen nowhere for certain. */
  readonly openPlants: readonly Plant[];
  /** Plants expected in rows that the walk did not touch: it says nothing of them. */
  readonly outside: readonly Plant[];
}

/** What the ledger says. */
export interface Expected {
  /** Living plants; those without a station are expected nowhere. */
  readonly plants: readonly Plant[];
  /** Those whose first tag or replacement has not been printed. */
  readonly awaiting: ReadonlySet<PlantId>;
}

export function compare(spots: readonly Spot[], expected: Expected): Comparison {
  const comparing = new Comparing(spots, expected);
  comparing.awaitingTags();
  comparing.tags();
  comparing.oldTags();
  comparing.potsWithoutPlant();
  comparing.emptyStations();
  return comparing.result();
}

type DraftFinding = { kind: FindingKind; spots: Spot[]; plants: Plant[] };
type TagSpot = Spot & { readonly reading: Extract<Spot['reading'], { kind: 'tag' }> };

const isTag = (spot: Spot): spot is TagSpot => spot.reading.kind === 'tag';
const isCurrent = (spot: Spot): spot is TagSpot => isTag(spot) && spot.reading.state === 'current';

/** What is found of a plant that is not in its place. */
const AWAY: ReadonlySet<FindingKind> = new Set(['pot-missing', 'moved']);

class Comparing {
  readonly #findings: DraftFinding[] = [];
  /** What is already accounted for, and by which finding. */
  readonly #bySpot = new Map<Spot, DraftFinding>();
  readonly #byPlant = new Map<PlantId, DraftFinding>();
  readonly #openPots: OpenPot[] = [];
  readonly #homes = new Map<PlantId, Place>();
  readonly #expectedAt: ReadonlyMap<string, Plant[]>;
  readonly #spotsAt: ReadonlyMap<string, Spot[]>;
  readonly #tagsOf: ReadonlyMap<PlantId, TagSpot[]>;

  constructor(
    readonly spots: readonly Spot[],
    readonly expected: Expected,
  ) {
    const placed = expected.plants.filter(({ station }) => station !== null);
    for (const plant of placed) this.#homes.set(plant.id, placeOf(plant.station as string));
    this.#expectedAt = grouped(placed, (plant) => this.#home(plant) as string);
    this.#spotsAt = grouped(spots, ({ place }) => place.key);
    this.#tagsOf = grouped(spots.filter(isCurrent), ({ reading }) => reading.plant.id);
  }

  /** A pot without its own tag, where a plant waits for one: what is known already. */
  awaitingTags(): void {
    for (const [key, plants] of this.#expectedAt) {
      const waiting = plants.filter(({ id }) => this.expected.awaiting.has(id) && !this.#tagsOf.has(id));
      if (waiting.length === 0) continue;
      const pots = (this.#spotsAt.get(key) ?? []).filter((spot) => this.#hasNoTagOfItsOwn(spot));
      for (const [index, plant] of waiting.entries()) {
        const pot = pots[index];
        if (pot !== undefined) this.#add('awaiting-tag', [pot], [plant]);
      }
    }
  }

  #hasNoTagOfItsOwn(spot: Spot): boolean {
    switch (spot.reading.kind) {
      case 'no tag':
      case 'spoilt':
        return true;
      case 'tag': {
        if (!isCurrent(spot)) return true;
        const { plant } = spot.reading;
        const others = this.#tagsOf.get(plant.id)?.filter((other) => other !== spot) ?? [];
        return others.some(({ place }) => place.key === this.#home(plant));
      }
      default:
        return false;
    }
  }

  /** Current tags: in place, in each other's places, moved. */
  tags(): void {
    const displaced = new Map<PlantId, TagSpot>();
    for (const all of this.#tagsOf.values()) {
      const spots = all.filter((spot) => !this.#bySpot.has(spot));
      const [first] = spots;
      if (first === undefined) continue;
      const { plant } = first.reading;
      const home = this.#home(plant);
      if (plant.ended !== null) this.#add('ended', spots, [plant]);
      else if (new Set(spots.map(({ place }) => place.key)).size > 1) {
        this.#add('duplicate', spots, [plant]);
        for (const spot of spots) this.#openPots.push({ spot, worn: plant });
      } else if (home === undefined) this.#add('first-place', spots, [plant]);
      else if (home === first.place.key) this.#add('in-place', spots, [plant]);
      else if (spots.length > 1) this.#add('moved', spots, [plant]);
      else displaced.set(plant.id, first);
    }
    this.#cycles(displaced);
    for (const [id, spot] of displaced) {
      if (!this.#byPlant.has(id)) this.#add('moved', [spot], [spot.reading.plant]);
    }
  }

  /** Goes from tag to tag: where the plant that belongs here is, where the one that belongs there is, … */
  #cycles(displaced: ReadonlyMap<PlantId, TagSpot>): void {
    const visited = new Set<TagSpot>();
    for (const first of displaced.values()) {
      const cycle: TagSpot[] = [];
      let spot: TagSpot | undefined = first;
      while (spot !== undefined && !visited.has(spot)) {
        visited.add(spot);
        cycle.push(spot);
        spot = this.#whereItsPlantIs(spot, displaced);
      }
      if (spot !== first || cycle.length < 2) continue;
      const plants = cycle.map(({ reading }) => reading.plant);
      this.#add(cycle.length === 2 ? 'exchanged' : 'rotated', cycle, plants);
    }
  }

  /** Where the plant that is expected at this spot was found, if just one is and just one pot stands here. */
  #whereItsPlantIs(spot: TagSpot, displaced: ReadonlyMap<PlantId, TagSpot>): TagSpot | undefined {
    const [plant, ...others] = this.#expectedAt.get(spot.place.key) ?? [];
    if (plant === undefined || others.length > 0) return undefined;
    return this.#spotsAt.get(spot.place.key)?.length === 1 ? displaced.get(plant.id) : undefined;
  }

  /** Tags that should not hang any more, or never should have. */
  oldTags(): void {
    for (const spot of this.spots) {
      if (!isTag(spot) || spot.reading.state === 'current' || this.#bySpot.has(spot)) continue;
      const { plant, state } = spot.reading;
      const isFree = !this.#byPlant.has(plant.id);
      if (plant.ended !== null) this.#add('ended', [spot], isFree ? [plant] : []);
      else if (isFree && this.#home(plant) === spot.place.key) this.#add(state, [spot], [plant]);
      else {
        const same = this.#byPlant.get(plant.id);
        if (same?.spots.some(({ place }) => place.key === spot.place.key)) {
          this.#attach(spot, same); // Its new tag hangs on the pot too.
          if (same.kind === 'in-place') same.kind = state;
          continue;
        }
        this.#add(state, [spot], []);
        this.#openPots.push({ spot, worn: isFree ? plant : null });
      }
    }
  }

  /** Pots without a tag that can be read, beside the plants that are expected just there. */
  potsWithoutPlant(): void {
    const isOpen = (spot: Spot) => !this.#bySpot.has(spot);
    for (const spot of this.spots) {
      if (spot.reading.kind === 'stranger') this.#add('stranger', [spot], []);
    }
    // What is legible goes first: a pot without a tag leaves the choice to it.
    for (const kind of ['spoilt', 'no tag'] as const) {
      for (const spot of this.spots) {
        const { reading } = spot;
        if (reading.kind !== kind || !isOpen(spot)) continue;
        const free = this.#unseenAt(spot.place.key);
        const plant =
          reading.kind === 'spoilt' && reading.candidates.length > 0
            ? free.find(({ id }) => reading.candidates.some((candidate) => candidate.id === id))
            : free[0];
        this.#add(
          kind === 'spoilt' ? 'unreadable' : 'tag-missing',
          [spot],
          plant === undefined ? [] : [plant],
        );
        this.#openPots.push({ spot, worn: null });
      }
    }
  }

  emptyStations(): void {
    for (const spot of this.spots) {
      if (spot.reading.kind !== 'no pot') continue;
      const { key } = spot.place;
      const [missing] = this.#unseenAt(key);
      const elsewhere = this.#expectedAt.get(key)?.[0];
      const explained = elsewhere === undefined ? undefined : this.#byPlant.get(elsewhere.id);
      if (missing !== undefined) this.#add('pot-missing', [spot], [missing]);
      else if (explained !== undefined) this.#attach(spot, explained);
      else this.#add('in-place', [spot], []);
    }
  }

  result(): Comparison {
    const rowsWalked = new Set(this.spots.map(({ place }) => rowOf(place)));
    const outside: Plant[] = [];
    for (const plant of this.expected.plants) {
      const home = this.#homes.get(plant.id);
      if (home === undefined || this.#byPlant.has(plant.id)) continue;
      if (this.#spotsAt.has(home.key)) this.#add('pot-missing', [], [plant]);
      else if (rowsWalked.has(rowOf(home))) this.#add('not-visited', [], [plant]);
      else outside.push(plant);
    }
    this.#openMoves();
    const open = new Set(this.#openPots.map(({ spot }) => spot));
    const openPlants = this.#findings.flatMap(({ kind, spots, plants }) =>
      kind === 'pot-missing' || spots.some((spot) => open.has(spot)) ? plants : [],
    );
    const order = new Map(this.spots.map((spot, index) => [spot, index]));
    const position = ({ spots: [first] }: Finding) =>
      (first === undefined ? Infinity : order.get(first)) ?? 0;
    const findings = this.#findings.toSorted((a, b) => position(a) - position(b) || 0);
    return { findings, openPots: this.#openPots, openPlants, outside };
  }

  /**
   * A tag hangs in the place of a plant that is not there, or a pot that is not its own stands in the tag's
   * place: the tag may have been put on the wrong pot. Only from a place that is empty now to one that was
   * free do pots surely move with their tags.
   */
  #openMoves(): void {
    const moved = this.#findings.filter(({ kind }) => kind === 'moved');
    const taken = new Set(
      [...this.#openPots.map(({ spot }) => spot), ...moved.flatMap(({ spots }) => spots.slice(0, 1))].map(
        ({ place }) => place.key,
      ),
    );
    for (const { spots, plants } of moved) {
      const [spot, plant] = [spots[0], plants[0]];
      if (spot === undefined || plant === undefined) continue;
      const expected = this.#expectedAt.get(spot.place.key) ?? [];
      const isOneAway = expected.some(({ id }) => AWAY.has(this.#byPlant.get(id)?.kind ?? 'in-place'));
      if (isOneAway || taken.has(this.#home(plant) ?? '')) this.#openPots.push({ spot, worn: plant });
    }
  }

  #home({ id }: Plant): string | undefined {
    return this.#homes.get(id)?.key;
  }

  #unseenAt(key: string): Plant[] {
    return (this.#expectedAt.get(key) ?? []).filter(({ id }) => !this.#byPlant.has(id));
  }

  #add(kind: FindingKind, spots: readonly Spot[], plants: readonly Plant[]): void {
    const finding: DraftFinding = { kind, spots: [...spots], plants: [...plants] };
    this.#findings.push(finding);
    for (const spot of spots) this.#bySpot.set(spot, finding);
    for (const { id } of plants) this.#byPlant.set(id, finding);
  }

  #attach(spot: Spot, finding: DraftFinding): void {
    finding.spots.push(spot);
    this.#bySpot.set(spot, finding);
  }
}

function grouped<T, K>(values: readonly T[], keyOf: (value: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>();
  for (const value of values) {
    const key = keyOf(value);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [value]);
    else group.push(value);
  }
  return groups;
}
