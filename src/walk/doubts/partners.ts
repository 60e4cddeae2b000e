/**
 * Which plants can have been exchanged with which, and how often that happens: neighbours more than strangers.
 */
import type { PlantId } from '../../ids/plant-id.js';
import type { Plant } from '../../ledger/model.js';
import { WALK } from '../parameters.js';
import { distance, type MovedTo, type Place, placeOf, shareOfMoves } from '../stations.js';
import { DOUBTS } from './parameters.js';

const MOVED_TO = asShares(WALK.movedTo);

function asShares({ row, bench, elsewhere }: MovedTo): MovedTo {
  const all = row + bench + elsewhere;
  return { row: row / all, bench: bench / all, elsewhere: elsewhere / all };
}

/** Rows and places further than this are never near enough to be weighed without a reason. */
const REACH = { rows: 4, places: 12 };

export class Partners {
  readonly #places = new Map<PlantId, Place>();
  /** Row → the plants of it. */
  readonly #rows = new Map<string, Plant[]>();
  /** Plants at each station. */
  readonly #counts = new Map<string, number>();

  constructor(readonly plants: readonly Plant[]) {
    for (const plant of plants) {
      if (plant.station === null) continue;
      const place = placeOf(plant.station);
      this.#places.set(plant.id, place);
      this.#counts.set(place.key, (this.#counts.get(place.key) ?? 0) + 1);
      const row = rowKey(place, 0);
      const others = this.#rows.get(row);
      if (others === undefined) this.#rows.set(row, [plant]);
      else others.push(plant);
    }
  }

  get pairCount(): number {
    return (this.plants.length * (this.plants.length - 1)) / 2;
  }

  /** Of the exchanges of one of them, the share that is with just the other; alike both ways. */
  share(a: Plant, b: Plant): number {
    const [here, there] = [this.#places.get(a.id), this.#places.get(b.id)];
    if (here === undefined || there === undefined) {
      const isUnplaced = here === there;
      return (isUnplaced ? 1 : MOVED_TO.elsewhere) / Math.max(1, this.plants.length - 1);
    }
    const count = Math.max(this.#count(here), this.#count(there));
    const way = distance(here, there);
    // A station of many pots, such as a whole bench: they are all neighbours.
    if (way.kind === 'same') return MOVED_TO.row / 2 / (count - 1);
    return shareOfMoves(way, MOVED_TO, this.#counts.size) / count;
  }

  /** Those near enough to be weighed whatever their history; in a small garden that is every plant. */
  near(plant: Plant): Plant[] {
    if (this.plants.length * DOUBTS.near <= 1) {
      return this.plants.filter((other) => other.id !== plant.id && this.share(plant, other) >= DOUBTS.near);
    }
    const place = this.#places.get(plant.id);
    if (place === undefined) return [];
    const near: Plant[] = [];
    const last = place.coordinates.at(-1) ?? 0;
    const rows = place.coordinates.length < 2 ? 0 : REACH.rows;
    for (let row = -rows; row <= rows; row++) {
      for (const other of this.#rows.get(rowKey(place, row)) ?? []) {
        const at = this.#places.get(other.id)?.coordinates.at(-1) ?? 0;
        if (other.id === plant.id || Math.abs(at - last) > REACH.places) continue;
        if (this.share(plant, other) >= DOUBTS.near) near.push(other);
      }
    }
    return near;
  }

  #count({ key }: Place): number {
    return this.#counts.get(key) ?? 1;
  }
}

/** Alike for the plants of a row, so many rows on. */
function rowKey({ key, system, coordinates }: Place, rows: number): string {
  if (coordinates.length === 0) return key;
  const row = coordinates.slice(0, -1);
  if (row.length > 0) row.push((row.pop() as number) + rows);
  return `${system} ${row.join(' ')}`;
}
