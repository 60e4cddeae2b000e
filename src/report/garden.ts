/**
 * One way through the ledger for what the page says of single plants: how many there are, where they stand,
 * when their fruit was ripe. Keeps a few values of each plant, never the histories.
 */
import { showsFruit } from '../breeding/fruiting.js';
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { History, Observation, Plant, PlantKind } from '../ledger/model.js';
import { crossText } from './cross-names.js';

export interface Garden {
  readonly counts: Readonly<Record<PlantKind, { enrolled: number; alive: number }>>;
  /** Seedlings. */
  fruited: number;
  /** Year of the first fruit of a seedling; null before there was one. */
  firstFruitYear: number | null;
  /** Observations that may be another plant's, and the plants they are of. */
  readonly doubtful: { observations: number; plants: number };
  readonly pots: Pot[];
  readonly ripenings: Ripening[];
}

/** A plant that has a station. */
export interface Pot {
  readonly id: PlantId;
  readonly station: string;
  readonly hasEnded: boolean;
  readonly hasFruited: boolean;
}

/** A seedling with ripe fruit. */
export interface Ripening {
  readonly id: PlantId;
  /** As it is written in text. */
  readonly cross: string;
  readonly hasEnded: boolean;
  /** By year, then wood. */
  readonly seasons: readonly Season[];
}

/** Ripe fruit of one crop of a year; days count from 1 on 1 January, as in a year of 365 days. */
export interface Season {
  readonly year: number;
  readonly isBreba: boolean;
  readonly firstDay: number;
  lastDay: number;
}

export async function surveyGarden(ledger: LedgerReader): Promise<Garden> {
  const garden: Garden = {
    counts: {
      seedling: { enrolled: 0, alive: 0 },
      cutting: { enrolled: 0, alive: 0 },
      graft: { enrolled: 0, alive: 0 },
      parent: { enrolled: 0, alive: 0 },
    },
    fruited: 0,
    firstFruitYear: null,
    doubtful: { observations: 0, plants: 0 },
    pots: [],
    ripenings: [],
  };
  for await (const history of ledger.histories({})) take(garden, history);
  return garden;
}

function take(garden: Garden, { plant, observations }: History): void {
  const sound = observations.filter(({ doubtful }) => !doubtful);
  if (sound.length < observations.length) {
    garden.doubtful.plants++;
    garden.doubtful.observations += observations.length - sound.length;
  }
  const first = sound.find(showsFruit);
  const counts = garden.counts[plant.kind];
  counts.enrolled++;
  if (plant.ended === null) counts.alive++;
  if (plant.station !== null) garden.pots.push(potOf(plant, plant.station, first !== undefined));
  if (plant.kind !== 'seedling' || first === undefined) return;
  garden.fruited++;
  garden.firstFruitYear = Math.min(garden.firstFruitYear ?? Infinity, Number(first.date.slice(0, 4)));
  const seasons = seasonsOf(sound);
  if (seasons.length === 0) return;
  garden.ripenings.push({ id: plant.id, cross: crossText(plant), hasEnded: plant.ended !== null, seasons });
}

function potOf({ id, ended }: Plant, station: string, hasFruited: boolean): Pot {
  return { id, station, hasEnded: ended !== null, hasFruited };
}

function seasonsOf(observations: readonly Observation[]): Season[] {
  const seasons: Season[] = [];
  for (const { date, values } of observations) {
    if (values.fruit !== 'ripe') continue;
    const year = Number(date.slice(0, 4));
    const isBreba = values.wood === 'old';
    const day = dayOfYear(date);
    const known = seasons.find((season) => season.year === year && season.isBreba === isBreba);
    if (known === undefined) seasons.push({ year, isBreba, firstDay: day, lastDay: day });
    else known.lastDay = day;
  }
  return seasons;
}

const MS_PER_DAY = 86_400_000;

/** Of a year of 365 days, so that a date has the same place in every year. */
function dayOfYear(date: string): number {
  const day = date.slice(5) === '02-29' ? '02-28' : date.slice(5);
  return (Date.parse(`2023-${day}`) - Date.parse('2023-01-01')) / MS_PER_DAY + 1;
}
