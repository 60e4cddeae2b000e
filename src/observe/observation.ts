/**
 * An observation as typed, checked and appended to the ledger.
 */
import { InputError, type Problem } from '../errors.js';
import type { LedgerWriter } from '../ledger/ledger.js';
import type { Observation, ObservedValues, Photo, Plant } from '../ledger/model.js';
import { findTrait, readTrait, TRAITS, withUnit } from './vocabulary.js';

/** What was seen, on which day; not yet on which plant. */
export interface Seen {
  readonly date: string;
  readonly values: ObservedValues;
  readonly photo: Photo | null;
}

/** The plant it was seen on, and the issue on the tag scanned (null if the ID was typed). */
export interface SeenOn {
  readonly plant: Plant;
  readonly issue: number | null;
  /** The plant was known by its place and traits or by a person, not by the tag that hung on it. */
  readonly withoutTag?: boolean;
}

/** @throws InputError that lists every trait whose value is not allowed */
export function parseValues(typed: Readonly<Record<string, string | undefined>>): ObservedValues {
  const values: Record<string, string | number> = {};
  const problems: Problem[] = [];
  for (const [name, text] of Object.entries(typed)) {
    const trait = findTrait(name);
    if (trait === undefined || text === undefined) continue;
    const reading = readTrait(trait, text);
    if (reading.kind === 'value') values[trait.name] = reading.value;
    else problems.push({ line: null, column: trait.name, problem: reading.problem });
  }
  const [first] = problems;
  if (first !== undefined) {
    throw new InputError(
      'bad-observation',
      problems.length === 1 ? `${first.problem}.` : `${problems.length} of the values are not allowed.`,
      'Put it right and run the command again; nothing was recorded.',
      {},
      problems,
    );
  }
  return values;
}

/** @param today the local calendar day, in ISO 8601 */
export function parseDay(text: string, today: string): string {
  const day = text.trim();
  if (!isCalendarDay(day)) {
    throw new InputError(
      'bad-date',
      `"${text}" is not a day.`,
      'Write the year, the month and the day: 2026-09-14.',
    );
  }
  if (day > today) {
    throw new InputError(
      'future-date',
      `${day} is in the future (today is ${today}).`,
      'Put the date right: it is a day up to today.',
    );
  }
  return day;
}

/** Earlier ones are slips: nobody saw a living plant's fruit then. */
const EARLIEST_YEAR = 1900;

function isCalendarDay(text: string): boolean {
  const [, year, month, day] = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text)?.map(Number) ?? [];
  if (year === undefined || month === undefined || day === undefined || year < EARLIEST_YEAR) return false;
  const date = new Date(Date.UTC(year, month - 1, day));
  return date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
}

/** @throws InputError if the plant was not yet sown on that day */
export function checkAgainstPlant(plant: Plant, date: string): void {
  const { sown } = plant;
  if (sown === null || date.slice(0, sown.length) >= sown) return;
  throw new InputError(
    'before-sowing',
    `${date} is before plant ${plant.id} was sown (${sown}).`,
    'Put the date right, or the sowing date in your CSV and enrol it again with --amend.',
  );
}

/** A plant that was seen dead and now bears fruit is rather another plant; null if all is well. */
export function doubtAbout(plant: Plant | null, values: ObservedValues): string | null {
  if (plant?.ended == null || values.alive !== undefined) return null;
  return `${plant.id} ended ${plant.ended}. Is it the right plant? If it shoots again, record --alive yes.`;
}

/**
 * Appends one observation and returns it as it stands in the ledger.
 * @param entryId the UUID that its entry is to have; by default a new one
 */
export async function recordSeen(
  writer: LedgerWriter,
  on: SeenOn,
  seen: Seen,
  entryId?: string,
): Promise<Observation> {
  checkAgainstPlant(on.plant, seen.date);
  const { plant, issue, withoutTag } = on;
  const how = withoutTag ? { withoutTag: true as const } : {};
  const entry = await writer.append(
    { kind: 'observed', body: { id: plant.id, issue, ...seen, ...how } },
    entryId,
  );
  return { number: entry.number, entry: entry.id, ...seen, issue, by: entry.by, recordedAt: entry.at };
}

/** In one line: `fruit ripe, brix 18.5 °Bx`; then what a walk saw beyond the vocabulary: `station bench 2 / 7, buds 3`. */
export function seenInWords({ values, photo }: Pick<Observation, 'values' | 'photo'>): string {
  const parts = TRAITS.flatMap((trait) => {
    const value = values[trait.name];
    return value === undefined ? [] : [`${trait.name} ${withUnit(trait, value)}`];
  });
  for (const [name, value] of Object.entries(values)) {
    if (findTrait(name) === undefined) parts.push(`${name} ${value}`);
  }
  if (photo !== null) parts.push(`photo ${photo.file}`);
  return parts.join(', ').replaceAll(/\s*\n\s*/g, ' / ');
}
