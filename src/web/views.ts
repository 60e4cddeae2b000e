/**
 * What the server and the page tell each other, as types; and the ledger's values put into that shape.
 */
import type { IdLength } from '../ids/plant-id.js';
import type { Exchange, Observation, ObservedValues, Photo, Plant, Tag } from '../ledger/model.js';
import { formatCross } from '../plants/cross.js';
import type { Resolution, ScanStatus } from '../scan/resolve.js';
import type { ReadHow } from '../scan/scans.js';
import { whatToDo } from '../scan/unresolved.js';

/** What tells a person that it is the right pot. */
export interface PlantView {
  readonly id: string;
  readonly key: string;
  readonly kind: string;
  readonly cross: string | null;
  readonly origin: string | null;
  readonly sown: string | null;
  readonly station: string | null;
  readonly ended: string | null;
}

export interface ObservationView {
  /** Its entry in the journal, by which it can be withdrawn. */
  readonly entry: string;
  readonly date: string;
  readonly values: ObservedValues;
  readonly photo: string | null;
  readonly by: string;
}

export interface CandidateView {
  readonly plant: PlantView;
  readonly because: string;
}

export interface ScanView {
  /** Null for a photo in which nothing could be read. */
  readonly text: string | null;
  readonly status: ScanStatus;
  readonly id: string | null;
  readonly issue: number | null;
  readonly plant: PlantView | null;
  readonly candidates: readonly CandidateView[];
  readonly todo: string | null;
  /** How a picture's tag was read; null for a text. */
  readonly how: HowView | null;
}

export type HowView =
  | { readonly by: 'decoder' }
  | { readonly by: 'ledger'; readonly probability: number; readonly why: WhyView | null };

/** Why a damaged tag was read as it was: a data URL, and what its colours mean. */
export interface WhyView {
  readonly picture: string;
  readonly caption: string;
}

/** `shares` of the type, likeliest first, none for a plant that is no fig. */
export interface TypeView {
  readonly stated: string | null;
  readonly called: string | null;
  /** No type is much likelier than another. */
  readonly nothingTells: boolean;
  readonly shares: readonly { readonly type: string; readonly share: number }[];
  readonly toSettle: string | null;
}

export interface RecordView {
  readonly plant: PlantView;
  readonly note: string | null;
  /** Latest first. */
  readonly observations: readonly ObservationView[];
}

/** An observation as a phone sends it. `issue` is null where a person confirmed the plant. */
export interface SentObservation {
  /** The journal entry's UUID, made by the phone: it is recorded once, however often it arrives. */
  readonly entry: string;
  readonly id: string;
  readonly issue: number | null;
  readonly date: string;
  /** As typed. */
  readonly values: Readonly<Record<string, string>>;
  readonly photo: Photo | null;
}

export interface RecordedView {
  readonly observation: ObservationView;
  readonly doubt: string | null;
}

/** The observation that is taken back, by its entry. */
export interface SentWithdrawal {
  readonly entry: string;
}

/** A phone's copy of the ledger's plants, each with its last tag. */
export interface GardenView {
  /** Of this content. */
  readonly version: string;
  readonly idLength: IdLength;
  readonly plants: readonly {
    readonly plant: Plant;
    readonly tag: Pick<Tag, 'issue' | 'status'> | null;
    /** Of a void tag. */
    readonly voidedBecause?: string | null;
  }[];
  /** Of the plants whose last tag was given up for them. */
  readonly exchanges?: readonly Pick<Exchange, 'a' | 'b'>[];
}

/** A walk as a phone sends it: the lines that `pottag walk` reads. */
export interface SentWalk {
  /** Made by the phone: it is kept once, however often it arrives. */
  readonly walk: string;
  readonly date: string;
  readonly lines: readonly string[];
}

export interface DeviceView {
  readonly device: string;
  readonly idLength: IdLength;
}

export function plantView(plant: Plant): PlantView {
  const { id, key, kind, origin, sown, station, ended } = plant;
  const cross = formatCross(plant.seedParent, plant.pollenParent) ?? null;
  return { id, key, kind, cross, origin, sown, station, ended };
}

export function observationView({ entry, date, values, photo, by }: Observation): ObservationView {
  return { entry, date, values, photo: photo?.file ?? null, by };
}

export function scanView(resolution: Resolution & { readonly how?: ReadHow }, idLength: IdLength): ScanView {
  const { text, status, id, issue, plant, candidates } = resolution;
  return {
    text,
    status,
    id,
    issue,
    plant: plant === null ? null : plantView(plant),
    candidates: candidates.map((candidate) => ({
      plant: plantView(candidate.plant),
      because: candidate.because,
    })),
    todo: whatToDo(resolution, idLength),
    how: resolution.how === undefined ? null : howView(resolution.how),
  };
}

function howView(how: ReadHow): HowView {
  if (how.by === 'decoder') return how;
  const { by, probability, shown } = how;
  if (shown === null) return { by, probability, why: null };
  const picture = `data:image/jpeg;base64,${Buffer.from(shown.picture).toString('base64')}`;
  return { by, probability, why: { picture, caption: shown.caption } };
}
