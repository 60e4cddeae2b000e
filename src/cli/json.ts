/**
 * Plants, tags and observations as --json prints them: the words of the CSV, in snake_case.
 */
import type { KnownObservation, Observation, Plant, Tag } from '../ledger/model.js';
import { formatCross } from '../plants/cross.js';

export function plantJson(plant: Plant) {
  return {
    id: plant.id,
    key: plant.key,
    kind: plant.kind,
    cross: crossOf(plant),
    seed_parent: plant.seedParent,
    pollen_parent: plant.pollenParent,
    sown: plant.sown,
    origin: plant.origin,
    station: plant.station,
    type: plant.type,
    note: plant.note,
    extra: plant.extra,
    ended: plant.ended,
  };
}

export function tagJson(id: string, tag: Tag) {
  return {
    issue: tag.issue,
    text: `${id}.${tag.issue}`,
    status: tag.status,
    issued_at: tag.issuedAt,
    reprinted_at: tag.reprintedAt,
    voided_at: tag.voidedAt,
    voided_because: tag.voidedBecause,
    stock: tag.stock,
    sheet: tag.sheet,
    page: tag.page,
    cell: { row: tag.row, column: tag.column },
  };
}

export function observationJson(observation: Observation) {
  return {
    number: observation.number,
    entry: observation.entry,
    date: observation.date,
    ...observation.values,
    issue: observation.issue,
    photo: observation.photo,
    by: observation.by,
    recorded_at: observation.recordedAt,
  };
}

/** An observation of a plant's record: as recorded, and what became of it. */
export function knownObservationJson(observation: KnownObservation) {
  const { recordedAs, doubtful } = observation;
  return { ...observationJson(observation), recorded_as: recordedAs, doubtful };
}

/** `A × B`, or null when neither parent is known. */
export function crossOf(plant: Plant): string | null {
  return formatCross(plant.seedParent, plant.pollenParent) ?? null;
}
