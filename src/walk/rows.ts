/**
 * A walk's CSV → its rows: the station, what was scanned there, the traits seen; or every problem in it.
 */
import { type Place as FilePlace, InputError, type Problem } from '../errors.js';
import { findTrait, readTrait } from '../observe/vocabulary.js';
import { type CsvRecord, type CsvTable, parseCsv } from '../plants/csv.js';
import { decodeText } from '../plants/decode.js';
import { meaningOf } from '../plants/heading-words.js';
import { fold, quote, tidy } from '../wording.js';
import { type Place, placeOf } from './stations.js';

export interface WalkRow {
  /** Where the row starts in the file, counted from 1. */
  readonly line: number;
  readonly station: string;
  readonly place: Place;
  readonly scanned: string;
  /** Trait → value: numbers where the whole column is numbers. */
  readonly traits: ReadonlyMap<string, string | number>;
}

/** `scanned` for a pot without a tag, and for a station without a pot. */
export const NO_TAG = 'none';
export const NO_POT = 'empty';

const SCANNED_HEADINGS = ['scanned', 'scan', 'tag', 'tag text', 'id', 'plant'];

interface Columns {
  readonly station: number;
  readonly scanned: number;
  readonly traits: readonly { readonly index: number; readonly heading: string; readonly trait: string }[];
}

/**
 * @param file its name, for messages
 * @throws InputError that lists every problem
 */
export function readWalk(bytes: Uint8Array, file: string): WalkRow[] {
  const table = parseCsv(decodeText(bytes, file).text, file);
  const columns = findColumns(table, { file, line: table.headingLine });
  const problems: Problem[] = [];
  const rows: WalkRow[] = [];
  const first = new Map<string, { readonly line: number; readonly isEmpty: boolean }>();
  const readers = columns.traits.map((column) => ({ ...column, read: traitReader(table, column) }));
  for (const record of table.records) {
    const cell = (index: number) => tidy(record.cells[index] ?? '');
    const report = (index: number, problem: string) =>
      problems.push({ line: record.line, column: tidy(table.headings[index] ?? ''), problem });
    const [station, scanned] = [cell(columns.station), cell(columns.scanned)];
    if (station === '') report(columns.station, 'The station is empty: say where the pot stands.');
    if (scanned === '') {
      const help = `write the tag's text, ${NO_TAG} for a pot without a tag, or ${NO_POT} for no pot`;
      report(columns.scanned, `Nothing stands here: ${help}.`);
    }
    checkLength(record, table, (index, problem) => report(index, problem));
    const traits = new Map<string, string | number>();
    for (const { index, trait, read } of readers) {
      const text = cell(index);
      if (text === '') continue;
      const value = read(text);
      if (typeof value === 'object') report(index, value.problem);
      else traits.set(trait, value);
    }
    const row = { line: record.line, station, place: placeOf(station), scanned: keyword(scanned), traits };
    const problem = secondAtStation(first, row);
    if (problem === 'again') continue;
    if (problem !== undefined) report(columns.scanned, problem);
    rows.push(row);
  }
  if (problems.length > 0) throw refusal(problems, file);
  return rows;
}

function keyword(scanned: string): string {
  const word = scanned.toLowerCase();
  return word === NO_TAG || word === NO_POT ? word : scanned;
}

/** Several pots may share a station's name; the same tag scanned twice there is one pot. */
function secondAtStation(
  first: Map<string, { readonly line: number; readonly isEmpty: boolean }>,
  { line, station, place, scanned }: WalkRow,
): string | undefined {
  if (station === '' || scanned === '') return undefined;
  const isEmpty = scanned === NO_POT;
  const before = first.get(place.key);
  if (before === undefined) first.set(place.key, { line, isEmpty });
  else if (before.isEmpty !== isEmpty) {
    return `${quote(station)} is ${isEmpty ? `${NO_POT} here, but has a pot` : `${NO_POT}`} in line ${before.line}: delete the wrong row.`;
  }
  if (scanned === NO_TAG) return undefined;
  const same = `${place.key}\n${scanned.toUpperCase()}`;
  if (first.has(same)) return 'again';
  first.set(same, { line, isEmpty });
  return undefined;
}

function checkLength(
  { cells }: CsvRecord,
  { headings }: CsvTable,
  report: (index: number, problem: string) => void,
): void {
  if (cells.length <= headings.length) return;
  const beyond = cells.slice(headings.length).join(' ').trim();
  report(
    headings.length - 1,
    `The row goes on after the last heading (${quote(beyond)}): put a cell that holds the delimiter in quotes.`,
  );
}

function findColumns({ headings }: CsvTable, place: FilePlace): Columns {
  const isStation = (heading: string) => meaningOf(heading)?.field === 'station';
  const exact = headings.findIndex((heading) => fold(heading) === 'station');
  const station = exact !== -1 ? exact : headings.findIndex(isStation);
  const scanned = SCANNED_HEADINGS.map((word) => headings.findIndex((h) => fold(h) === word)).find(
    (index) => index !== -1,
  );
  if (station === -1 || scanned === undefined) {
    const lacks = station === -1 ? 'station' : 'scanned';
    throw new InputError(
      `no-${lacks}-column`,
      `${place.file} has no column ${quote(lacks)}; its headings are ${headings.map((h) => quote(tidy(h))).join(', ')}.`,
      'A walk has the columns station and scanned, then the traits seen, e.g. height_cm and leaf.',
      place,
    );
  }
  const traits = headings.flatMap((heading, index) =>
    index === station || index === scanned || tidy(heading) === ''
      ? []
      : [{ index, heading: tidy(heading), trait: traitName(heading) }],
  );
  const twice = traits.filter(({ trait }, at) => traits.findIndex((other) => other.trait === trait) !== at);
  if (twice.length > 0) {
    const problems = twice.map(({ heading, trait }) => ({
      line: place.line ?? null,
      column: heading,
      problem: `Another column is ${quote(trait)} too: rename or delete one.`,
    }));
    throw refusal(problems, place.file ?? '');
  }
  return { station, scanned, traits };
}

/** `height_cm` → `height`, `Leaf form` → `leaf form`: the vocabulary's own word where it has one. */
export function traitName(heading: string): string {
  const name = fold(heading);
  const withoutUnit = name.replace(/ [^ ]+$/u, '');
  const trait = findTrait(withoutUnit);
  const unit = trait?.kind === 'number' ? trait.unit : null;
  if (trait !== undefined && unit !== null && name === `${withoutUnit} ${fold(unit)}`) return trait.name;
  return findTrait(name)?.name ?? name;
}

type TraitReader = (text: string) => string | number | { readonly problem: string };

const NUMBER = /^-?\d{1,9}([.,]\d{1,9})?$/;

/** Traits of the vocabulary as it allows them; other columns are numbers if every cell of theirs is one. */
function traitReader(table: CsvTable, { index, trait }: Columns['traits'][number]): TraitReader {
  const known = findTrait(trait);
  if (known !== undefined) {
    return (text) => {
      const reading = readTrait(known, text);
      return reading.kind === 'value' ? reading.value : { problem: `${reading.problem}.` };
    };
  }
  const cells = table.records.map(({ cells }) => cells[index]?.trim() ?? '').filter((cell) => cell !== '');
  return cells.every((cell) => NUMBER.test(cell)) ? (text) => Number(text.replace(',', '.')) : (text) => text;
}

function refusal(problems: readonly Problem[], file: string): InputError {
  const [first] = problems;
  const one = `${first?.column}: ${first?.problem}`;
  return new InputError(
    'bad-walk',
    problems.length === 1 ? one : `${file} has ${problems.length} problems.`,
    'Put it right and run the walk again; nothing was written.',
    first?.line == null || problems.length > 1 ? { file } : { file, line: first.line },
    problems,
  );
}
