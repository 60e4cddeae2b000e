/**
 * What the ledger knows, as values: plants, their tags, what was seen on them.
 *
 * `null` is "not known". Dates are calendar days in ISO 8601 (`2026-09-14`), `sown` also with reduced
 * precision (`2024-03`, `2024`); instants are ISO 8601 in UTC with milliseconds.
 */
import type { PlantId } from '../ids/plant-id.js';

export const PLANT_KINDS = ['seedling', 'cutting', 'graft', 'parent'] as const;
export type PlantKind = (typeof PLANT_KINDS)[number];

/** What a grower says of a plant; all of it but `key` can be amended. */
export interface PlantFields {
  /** The grower's own unique name for the plant. */
  readonly key: string;
  readonly kind: PlantKind;
  readonly seedParent: string | null;
  readonly pollenParent: string | null;
  readonly sown: string | null;
  /** The plant that a cutting or graft was taken from. */
  readonly origin: PlantId | null;
  readonly station: string | null;
  /** The type of a fig as the grower states it, e.g. `persistent female`. */
  readonly type: string | null;
  readonly note: string | null;
  /** Further columns of the grower's CSV: heading → cell. */
  readonly extra: Readonly<Record<string, string>>;
}

export interface Plant extends PlantFields {
  readonly id: PlantId;
  /** Counts the ledger's plants from 1, in the order of enrolment. */
  readonly number: number;
  /** The day the plant was seen dead or was culled; null while it lives. */
  readonly ended: string | null;
}

/** `void`: given up, and replaced or about to be. */
export type TagStatus = 'current' | 'superseded' | 'void';

export interface Tag {
  readonly issue: number;
  readonly status: TagStatus;
  readonly issuedAt: string;
  /** When it was last printed once more; null if it was not. */
  readonly reprintedAt: string | null;
  readonly voidedAt: string | null;
  /** `lost`, `faded`, `damaged` or `exchanged`; null for a tag that is not void. */
  readonly voidedBecause: string | null;
  readonly stock: string;
  /** File name of the sheet it was last printed on, in the ledger's `sheets` folder. */
  readonly sheet: string;
  /** Page, row and column count from 1. */
  readonly page: number;
  readonly row: number;
  readonly column: number;
}

/** Trait → what was seen, e.g. `brix` → 18.5, `fruit` → `ripe`. */
export type ObservedValues = Readonly<Record<string, string | number>>;

export interface Photo {
  /** File name in the ledger's `photos` folder. */
  readonly file: string;
  /** Of the file's bytes, in hex. */
  readonly sha256: string;
}

export interface Observation {
  /** The place of its entry in the journal: what `undo` takes. */
  readonly number: number;
  /** The journal entry that made it: a time-ordered UUID (RFC 9562, version 7). */
  readonly entry: string;
  readonly date: string;
  readonly values: ObservedValues;
  /** The issue on the tag that was scanned; null when the ID was typed. */
  readonly issue: number | null;
  readonly photo: Photo | null;
  readonly by: string;
  readonly recordedAt: string;
}

/** An observation as the ledger tells it now. */
export interface KnownObservation extends Observation {
  /** The plant under which it was recorded: another one where tags were exchanged or the wrong one was scanned. */
  readonly recordedAs: PlantId;
  /** Its tag told which plant it was, or the ID typed from it; not its place, its traits or a person. */
  readonly byTag: boolean;
  /** Tags were in each other's places about that day, and it is not settled when: it may be another plant's. */
  readonly doubtful: boolean;
}

export interface WithdrawnObservation extends Observation {
  readonly withdrawn: { readonly at: string; readonly by: string; readonly why: string };
}

/** That observations of several plants, after one day (null: ever) and up to another, may be each other's. */
export interface Doubt {
  /** The place of its entry in the journal: what `undo` takes. */
  readonly number: number;
  readonly entry: string;
  readonly plants: readonly PlantId[];
  readonly after: string | null;
  readonly until: string;
}

/** Two plants wore each other's tags on these days. */
export interface Exchange {
  /** The number of the change that said so: what `undo` takes. */
  readonly number: number;
  readonly a: PlantId;
  readonly b: PlantId;
  readonly since: string;
  readonly until: string;
}

/** A plant and what was seen on it, by date, then in the order it was recorded. */
export interface History {
  readonly plant: Plant;
  readonly observations: readonly KnownObservation[];
}

/** A value with the day it was seen. */
export interface LatestValue {
  readonly value: string | number;
  readonly date: string;
}

/** What a printer's sheets need to come out true: moved by mm to the right and down, then scaled. */
export interface Calibration {
  readonly nudgeMm: { readonly x: number; readonly y: number };
  readonly scale: number;
}

/** A PDF of tags as it was printed. */
export interface PrintedSheet extends Calibration {
  /** File name in the ledger's `sheets` folder. */
  readonly file: string;
  readonly stock: string;
  readonly symbol: 'qr' | 'code128' | 'both';
  readonly dpi: number;
  /** Cells count from 1 along the rows; `lastCell` is on the last page. */
  readonly firstCell: number;
  readonly lastCell: number;
  readonly pages: number;
  readonly printedAt: string;
}

/** A tag's place on a sheet; page, row and column count from 1. */
export interface SheetTag {
  readonly id: PlantId;
  readonly issue: number;
  readonly page: number;
  readonly row: number;
  readonly column: number;
}
