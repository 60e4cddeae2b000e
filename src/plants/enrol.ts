/**
 * Enrolling: rows of a grower's CSV become plants with IDs, and rows enrolled before find theirs.
 *
 * A row is its plant's by its ID, if the file has an `id` column, else by its key. IDs are given in the
 * order of the rows, so the same file enrolled into the same ledger always comes out the same.
 */
import { InputError, type Problem } from '../errors.js';
import { capacity, idOfNumber } from '../ids/allocation.js';
import type { IdLength, PlantId } from '../ids/plant-id.js';
import type { LedgerReader, LedgerWriter } from '../ledger/ledger.js';
import type { Plant, PlantFields } from '../ledger/model.js';
import type { Field } from './heading-words.js';
import type { Columns } from './headings.js';
import { type MatchedRow, matchRows } from './matching.js';
import { resolveOrigins } from './origins.js';
import type { PlantRows } from './rows.js';

/** A field of a plant in the ledger that the file says otherwise. */
export interface Change {
  readonly line: number;
  readonly id: PlantId;
  readonly key: string;
  /** The name of the field, or the heading of a further column. */
  readonly field: string;
  readonly was: string | null;
  readonly is: string | null;
}

/** What enrolling the rows would do to the ledger. */
export interface EnrolPlan {
  readonly toEnrol: readonly {
    readonly number: number;
    readonly id: PlantId;
    readonly fields: PlantFields;
  }[];
  readonly toAmend: readonly { readonly id: PlantId; readonly changes: Partial<PlantFields> }[];
  /** Sound rows that are in the ledger already. */
  readonly known: number;
  readonly changes: readonly Change[];
  readonly problems: readonly Problem[];
  /** The plant of every sound row, in the order of the file. */
  readonly plants: readonly { readonly id: PlantId; readonly key: string; readonly line: number }[];
}

/** Plant's field → field of the CSV. */
const CSV_FIELDS: Readonly<Record<Exclude<keyof PlantFields, 'extra'>, Field>> = {
  key: 'key',
  kind: 'kind',
  seedParent: 'seed_parent',
  pollenParent: 'pollen_parent',
  sown: 'sown',
  origin: 'origin',
  station: 'station',
  type: 'type',
  note: 'note',
};

/** @param reader undefined for a ledger still to be made */
export async function planEnrolment(
  reader: LedgerReader | undefined,
  idLength: IdLength,
  { rows, problems, source }: PlantRows,
): Promise<EnrolPlan> {
  const matching = await matchRows(reader, rows);
  const origins = await resolveOrigins(reader, matching.matched);
  const sound = matching.matched.filter(({ row }) => !origins.bad.has(row.line));
  const firstNumber = ((await reader?.plantCount()) ?? 0) + 1;
  const plants = allocate(sound, firstNumber, idLength);
  const idOnLine = new Map(origins.resolved.size === 0 ? [] : plants.map(({ line, id }) => [line, id]));
  const originOf = ({ row }: MatchedRow): PlantId | null => {
    const origin = origins.resolved.get(row.line);
    if (origin === undefined) return null;
    return typeof origin === 'number' ? (idOnLine.get(origin) ?? null) : origin;
  };

  const toEnrol: EnrolPlan['toEnrol'][number][] = [];
  const toAmend: EnrolPlan['toAmend'][number][] = [];
  const changes: Change[] = [];
  for (const [index, match] of sound.entries()) {
    const { id, line } = plants[index] as EnrolPlan['plants'][number];
    const fields: PlantFields = { ...match.row.fields, origin: originOf(match) };
    if (match.plant === undefined) {
      toEnrol.push({ number: firstNumber + toEnrol.length, id, fields });
    } else {
      const found = differences(match.plant, line, fields, source.columns);
      changes.push(...found.changes);
      if (found.changes.length > 0) toAmend.push({ id, changes: found.amendment });
    }
  }
  return {
    toEnrol,
    toAmend,
    known: sound.length - toEnrol.length,
    changes,
    problems: [...problems, ...matching.problems, ...origins.problems].sort(byLine),
    plants,
  };
}

/** Writes the plan's new plants, and its amendments if `amend`. */
export async function carryOut(
  writer: LedgerWriter,
  plan: EnrolPlan,
  amend: boolean,
  onProgress: (done: number, of: number) => void,
): Promise<void> {
  let done = 0;
  for (const { number, id, fields } of plan.toEnrol) {
    await writer.append({ kind: 'plant-enrolled', body: { number, id, ...fields } });
    onProgress(++done, plan.toEnrol.length);
  }
  if (!amend) return;
  for (const { id, changes } of plan.toAmend) {
    await writer.append({ kind: 'plant-amended', body: { id, changes } });
  }
}

/** The plant of each row; new ones are numbered on from `firstNumber`. */
function allocate(
  rows: readonly MatchedRow[],
  firstNumber: number,
  idLength: IdLength,
): EnrolPlan['plants'][number][] {
  let number = firstNumber;
  return rows.map(({ row, plant }) => {
    if (plant === undefined && number > capacity(idLength)) throw ledgerFull(idLength);
    return { id: plant?.id ?? idOfNumber(number++, idLength), key: row.fields.key, line: row.line };
  });
}

function ledgerFull(idLength: IdLength): InputError {
  return new InputError(
    'ledger-full',
    `A ledger with IDs of ${idLength} characters holds ${capacity(idLength).toLocaleString('en-GB')} plants; these are more.`,
    idLength === 7
      ? 'Make another ledger for the others: --ledger <folder>.'
      : `Make a new ledger with longer IDs: --ledger <folder> --id-length ${idLength + 1}.`,
  );
}

/** Only fields that the file has a column for are compared: a missing column says nothing. */
function differences(
  plant: Plant,
  line: number,
  fields: PlantFields,
  columns: Columns,
): { changes: Change[]; amendment: Partial<PlantFields> } {
  const changes: Change[] = [];
  const amendment: { -readonly [K in keyof PlantFields]?: PlantFields[K] } = {};
  const note = (field: string, was: string | null, is: string | null) => {
    changes.push({ line, id: plant.id, key: fields.key, field, was, is });
  };
  for (const [field, name] of Object.entries(CSV_FIELDS)) {
    const property = field as keyof typeof CSV_FIELDS;
    if (!isGiven(name, columns, fields) || plant[property] === fields[property]) continue;
    Object.assign(amendment, { [property]: fields[property] });
    note(name, plant[property], fields[property]);
  }
  const extra = { ...plant.extra };
  for (const index of columns.extra) {
    const heading = columns.labels[index] ?? '';
    const [was, is] = [plant.extra[heading] ?? null, fields.extra[heading] ?? null];
    if (was === is) continue;
    if (is === null) delete extra[heading];
    else extra[heading] = is;
    amendment.extra = extra;
    note(heading, was, is);
  }
  return { changes, amendment };
}

/** A cross gives both parents, and an origin the kind: it makes a cutting. */
function isGiven(field: Field, { fields: columns }: Columns, { origin }: PlantFields): boolean {
  const isParent = field === 'seed_parent' || field === 'pollen_parent';
  return columns.has(field) || (isParent && columns.has('cross')) || (field === 'kind' && origin !== null);
}

function byLine(a: Problem, b: Problem): number {
  return (a.line ?? 0) - (b.line ?? 0);
}
