/**
 * The kinds of journal entry and the shape of each one's body. What is once written stays readable:
 * a field may be added as optional, none may change its meaning.
 */
import * as z from 'zod';
import { ID_LENGTHS, type PlantId } from '../ids/plant-id.js';
import { PLANT_KINDS } from './model.js';

const isId = (value: unknown) => typeof value === 'string' && /^[0-9A-HJKMNP-TV-Z]{5,7}$/.test(value);
const id = z.custom<PlantId>(isId);
const issue = z.int().min(1).max(9999);
const day = z.iso.date();
const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().min(1);
const count = z.int().min(1);
/** Another entry's ID. */
const entry = z.uuid();

/** Traits and what was seen of each; `station` is where the plant was seen to stand. */
type Values = Readonly<Record<string, string | number>>;

function isValues(values: unknown): boolean {
  if (Object.prototype.toString.call(values) !== '[object Object]') return false;
  return Object.entries(values as object).every(([trait, value]) => {
    return trait !== '' && value !== '' && (typeof value === 'string' || Number.isFinite(value));
  });
}

const photo = z.strictObject({ file: text, sha256 });

interface Observed {
  readonly id: PlantId;
  readonly issue: number | null;
  readonly date: string;
  readonly values: Values;
  readonly photo: z.infer<typeof photo> | null;
  /** The plant was known by its place and traits or by a person, not by the tag that hung on it. */
  readonly withoutTag?: true | undefined;
}

/**
 * What zod's own object would accept (a test holds it to that), with a fraction of the code: zod would take a fifth of
 * what an append by itself takes more than SQLite's inserts (measured).
 */
const OBSERVED: { readonly [K in keyof Required<Observed>]: (value: unknown) => boolean } = {
  id: isId,
  issue: (value) =>
    value === null || (Number.isInteger(value) && Number(value) >= 1 && Number(value) <= 9999),
  date: (value) => typeof value === 'string' && z.core.regexes.date.test(value),
  values: isValues,
  photo: (value) => value === null || photo.safeParse(value).success,
  withoutTag: (value) => value === undefined || value === true,
};

function isObserved(body: unknown): boolean {
  if (Object.prototype.toString.call(body) !== '[object Object]') return false;
  const members = body as Record<string, unknown>;
  return (
    Object.keys(members).every((name) => Object.hasOwn(OBSERVED, name)) &&
    Object.entries(OBSERVED).every(([name, isSound]) => isSound(members[name]))
  );
}

const plantFields = {
  key: text,
  kind: z.enum(PLANT_KINDS),
  seedParent: text.nullable(),
  pollenParent: text.nullable(),
  sown: z
    .string()
    .regex(/^\d{4}(-\d\d(-\d\d)?)?$/)
    .nullable(),
  origin: id.nullable(),
  station: text.nullable(),
  type: text.nullable(),
  note: text.nullable(),
  extra: z.record(z.string(), z.string()).readonly(),
};

const calibration = {
  nudgeMm: z.strictObject({ x: z.number(), y: z.number() }),
  scale: z.number().positive(),
};
const place = { page: count, row: count, column: count };

export const ENTRY_BODIES = {
  /** The first entry of every ledger, and only that. */
  'ledger-made': z.strictObject({ ledger: z.uuid(), idLength: z.literal(ID_LENGTHS) }),
  'plant-enrolled': z.strictObject({ number: count, id, ...plantFields }),
  'plant-amended': z.strictObject({ id, changes: z.strictObject(plantFields).partial() }),
  /** A PDF of tags; the `tag-…` entries that follow name it by its file. */
  'sheet-printed': z.strictObject({
    file: text,
    sha256,
    stock: text,
    symbol: z.enum(['qr', 'code128', 'both']),
    dpi: z.number().positive(),
    link: text.nullable(),
    firstCell: count,
    /** The last cell used on the last page, counted like the first. */
    lastCell: count,
    pages: count,
    ...calibration,
  }),
  /** What a printer needs so that its sheets come out true. */
  'printer-calibrated': z.strictObject({ printer: text, ...calibration }),
  /** A new issue of a plant's tag; the one before is superseded. */
  'tag-issued': z.strictObject({ id, issue, stock: text, sheet: text, ...place }),
  /** The same issue printed once more, after a jam. */
  'tag-reprinted': z.strictObject({ id, issue, stock: text, sheet: text, ...place }),
  'tag-voided': z.strictObject({ id, issue, why: z.enum(['lost', 'faded', 'damaged', 'exchanged']) }),
  observed: z.custom<Observed>(isObserved),
  /**
   * Two plants wore each other's tags from one day to another, both included: what was seen by their tags
   * on those days, and recorded before this entry, changes places.
   */
  exchanged: z.strictObject({ a: id, b: id, since: day, until: day }),
  /** One observation, named by its entry, was made on another plant; whose tag it was does not count any more. */
  reassigned: z.strictObject({ entry, id }),
  /**
   * What was seen by these plants' tags after one day (null: since ever) and up to another may belong to
   * another of them, until exchanges among them settle it or it is withdrawn.
   */
  doubted: z.strictObject({ plants: z.array(id).min(2).readonly(), after: day.nullable(), until: day }),
  /** Takes an entry back: one of those above from `tag-voided` on. */
  withdrawn: z.strictObject({ entry, why: text }),
  /** Takes back that an entry was withdrawn. */
  restored: z.strictObject({ entry }),
  /** The so many `entries` before this one, of the same transaction, belong together, to be undone as one. */
  changed: z.strictObject({ what: z.enum(['walk', 'exchange', 'undo']), words: text, entries: count }),
  /** Makes a ledger a field copy of another: all before it was copied, what follows was recorded in the field. */
  copied: z.strictObject({ device: text, of: text }),
  /**
   * The so many `entries` before this one were recorded in a field copy, known by its `copied` entry; `after`
   * is the last entry that was copied. They count as recorded then, whenever and in whatever order they came.
   */
  merged: z.strictObject({ copy: entry, device: text, after: entry, entries: count }),
} as const;

export type EntryKind = keyof typeof ENTRY_BODIES;
export type EntryBody<K extends EntryKind> = z.infer<(typeof ENTRY_BODIES)[K]>;

/** An entry as a command asks for it; the journal adds its id, time, author and hash. */
export type NewEntry = { [K in EntryKind]: { readonly kind: K; readonly body: EntryBody<K> } }[EntryKind];
