/**
 * A table's headings → which column holds which field: what `--column` says first, then what the
 * headings say by themselves. A column that holds no field is kept under its heading.
 */
import { InputError, type Problem } from '../errors.js';
import { columnOption, nearest, quote, tidy } from '../wording.js';
import { FIELDS, type Field, meaningOf } from './heading-words.js';

export interface Columns {
  /** A name for each column, each different: its heading, if need be numbered, or `column 3`. */
  readonly labels: readonly string[];
  /** Field → index of its column. */
  readonly fields: ReadonlyMap<Field, number>;
  /** Indices of the columns that hold no field, ascending. */
  readonly extra: readonly number[];
}

/** How many headings a message names. */
const LONGEST_LIST = 30;

/** Where the headings stand, for messages. */
export interface HeadingPlace {
  readonly file: string;
  readonly line: number;
}

/**
 * @param overrides field → heading, as `--column` gives them; an empty heading leaves the field out
 * @throws InputError if an override names no such field or heading, if two columns claim one field, or if
 *   no column holds the key
 */
export function mapHeadings(
  headings: readonly string[],
  overrides: ReadonlyMap<string, string>,
  place: HeadingPlace,
): Columns {
  const labels = labelColumns(headings);
  const asked = readOverrides(labels, headings, overrides, place);
  const { claims, conflicts } = claimFields(labels, headings, asked, place);
  const fields = new Map<Field, number>();
  for (const [field, index] of asked) if (index !== undefined) fields.set(field, index);
  for (const [field, index] of claims) fields.set(field, index);
  settleCross(fields, asked, place);
  if (conflicts.length > 0) throw conflictError(conflicts, place);
  if (!fields.has('key')) throw keyError(labels, headings, fields, place);
  const taken = new Set(fields.values());
  const extra = [...labels.keys()].filter((index) => !taken.has(index));
  return { labels, fields, extra };
}

function labelColumns(headings: readonly string[]): string[] {
  const tidied = headings.map(tidy);
  const used = new Set<string>();
  const repeated = new Set(tidied.filter((label) => used.size === used.add(label).size));
  const nextNumber = new Map<string, number>();
  return tidied.map((heading, index) => {
    if (heading !== '' && !repeated.has(heading)) return heading;
    const base = heading || 'column';
    let number = heading === '' ? index + 1 : (nextNumber.get(heading) ?? 1);
    while (used.has(`${base} ${number}`)) number++;
    nextNumber.set(heading, number + 1);
    used.add(`${base} ${number}`);
    return `${base} ${number}`;
  });
}

type Asked = ReadonlyMap<Field, number | undefined>;

function readOverrides(
  labels: readonly string[],
  headings: readonly string[],
  overrides: ReadonlyMap<string, string>,
  place: HeadingPlace,
): Asked {
  const asked = new Map<Field, number | undefined>();
  for (const [name, heading] of overrides) {
    const field = findField(name);
    asked.set(field, heading.trim() === '' ? undefined : findColumn(labels, headings, field, heading, place));
  }
  return asked;
}

function findField(name: string): Field {
  const wanted = name
    .trim()
    .toLowerCase()
    .replace(/[\s-]+/g, '_');
  const field = FIELDS.find((candidate) => candidate === wanted);
  if (field) return field;
  const near = nearest(name, FIELDS);
  throw new InputError(
    'unknown-field',
    `--column ${name}=…: there is no field ${quote(name)}.`,
    `${near ? `Did you mean ${near}? ` : ''}The fields are ${FIELDS.join(', ')}; other columns are kept anyway.`,
  );
}

function findColumn(
  labels: readonly string[],
  headings: readonly string[],
  field: Field,
  heading: string,
  place: HeadingPlace,
): number {
  const wanted = tidy(heading);
  const exact = labels.indexOf(wanted);
  if (exact !== -1) return exact;
  const loose = [...labels.keys()].filter((index) => labels[index]?.toLowerCase() === wanted.toLowerCase());
  if (loose.length === 1) return loose[0] as number;
  const named = labels.filter((_, index) => tidy(headings[index] ?? '') !== '');
  const near = nearest(wanted, named);
  const hint =
    loose.length > 1
      ? 'Write it exactly as it stands in the file.'
      : near
        ? `Did you mean ${columnOption(field, near)}?`
        : 'Name one of them.';
  throw new InputError(
    'unknown-heading',
    `--column ${field}=${quote(heading)}: ${place.file} has ${loose.length || 'no'} such heading${loose.length > 1 ? 's' : ''}; its headings are ${list(named)}.`,
    hint,
    place,
  );
}

/** Which column each field takes that no override speaks of, and where several claim it alike. */
function claimFields(
  labels: readonly string[],
  headings: readonly string[],
  asked: Asked,
  place: HeadingPlace,
): { readonly claims: ReadonlyMap<Field, number>; readonly conflicts: readonly Problem[] } {
  const taken = new Set(asked.values());
  const candidates = new Map<Field, { readonly rank: number; readonly indices: number[] }>();
  for (const [index, heading] of headings.entries()) {
    const meaning = meaningOf(heading);
    if (!meaning || taken.has(index) || asked.has(meaning.field)) continue;
    const best = candidates.get(meaning.field);
    if (!best || meaning.rank < best.rank) {
      candidates.set(meaning.field, { rank: meaning.rank, indices: [index] });
    } else if (meaning.rank === best.rank) best.indices.push(index);
  }
  const claims = new Map<Field, number>();
  const conflicts: Problem[] = [];
  for (const [field, { indices }] of candidates) {
    const names = indices.map((index) => labels[index] as string);
    if (indices.length === 1) claims.set(field, indices[0] as number);
    else {
      const problem = `${list(names, ' and')} can each be the ${field}: give ${names.map((name) => columnOption(field, name)).join(' or ')} to say which.`;
      conflicts.push({ line: place.line, column: names[0] as string, problem });
    }
  }
  return { claims, conflicts };
}

/** A cross tells the parents only where no column does; elsewhere it is one more column to keep. */
function settleCross(fields: Map<Field, number>, asked: Asked, place: HeadingPlace): void {
  if (!fields.has('cross') || !(fields.has('seed_parent') || fields.has('pollen_parent'))) return;
  if (asked.get('cross') === undefined) {
    fields.delete('cross');
    return;
  }
  throw new InputError(
    'cross-and-parents',
    `${place.file} has columns for the parents, so the cross cannot be read from another one too.`,
    'Leave --column cross out, or give --column seed_parent= --column pollen_parent= to leave the parents out.',
    place,
  );
}

function conflictError(conflicts: readonly Problem[], place: HeadingPlace): InputError {
  const [first] = conflicts;
  const message =
    conflicts.length === 1 ? `${first?.problem}` : `In ${place.file} several columns claim one field.`;
  return new InputError('ambiguous-headings', message, 'Settle it with --column.', place, conflicts);
}

function keyError(
  labels: readonly string[],
  headings: readonly string[],
  fields: ReadonlyMap<Field, number>,
  place: HeadingPlace,
): InputError {
  const named = [...labels.keys()].filter((index) => headings[index]?.trim());
  const taken = new Set(fields.values());
  // A grower's own "ID" is the likeliest key; else some column that is nothing else.
  const likely = fields.get('id') ?? named.find((index) => !taken.has(index)) ?? named[0] ?? 0;
  return new InputError(
    'no-key',
    `${place.file} has no column that is plainly the key, each plant's own unique name; its headings (line ${place.line}) are ${list(named.map((index) => labels[index] as string))}.`,
    `Say which column it is, e.g. ${columnOption('key', labels[likely] as string)}; lines above the headings must be deleted first.`,
    place,
  );
}

function list(names: readonly string[], last = ','): string {
  if (names.length === 0) return 'none';
  const shown = names.slice(0, LONGEST_LIST).map(quote);
  if (names.length > LONGEST_LIST) return `${shown.join(', ')} and ${names.length - LONGEST_LIST} more`;
  const end = shown.pop();
  return shown.length === 0 ? `${end}` : `${shown.join(', ')}${last} ${end}`;
}
