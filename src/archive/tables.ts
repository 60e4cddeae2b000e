/**
 * The tables of an export: their columns with types and meanings, for the cells and for the data package.
 *
 * `journal` alone is the whole ledger; the others say the same for spreadsheets and statistics programs.
 */

import type { KnownObservation, Plant, Tag } from '../ledger/model.js';
import type { JournalEntry } from '../ledger/transfer.js';
import { TRAITS } from '../observe/vocabulary.js';

/** Types of the Frictionless Table Schema (version 1, "types and formats"). */
type FieldType = 'string' | 'integer' | 'number' | 'date' | 'datetime' | 'boolean';

export type Cell = string | number | boolean | null;

export interface Column<Row> {
  readonly name: string;
  readonly type: FieldType;
  readonly description: string;
  readonly required?: true;
  readonly of: (row: Row) => Cell;
}

export interface Table<Row> {
  readonly name: string;
  readonly description: string;
  readonly primaryKey: readonly string[];
  readonly foreignKeys: readonly { readonly field: string; readonly table: string; readonly to: string }[];
  readonly columns: readonly Column<Row>[];
}

export const JOURNAL: Table<JournalEntry> = {
  name: 'journal',
  description:
    'Everything that was ever written, in order; nothing in it is changed or removed. "pottag import" makes the same ledger of it.',
  primaryKey: ['number'],
  foreignKeys: [],
  columns: [
    {
      name: 'number',
      type: 'integer',
      required: true,
      description: 'counts the entries from 1',
      of: (e) => e.seq,
    },
    {
      name: 'id',
      type: 'string',
      required: true,
      description: 'UUID, version 7 (RFC 9562)',
      of: (e) => e.id,
    },
    {
      name: 'at',
      type: 'datetime',
      required: true,
      description: 'when it was written, in UTC',
      of: (e) => e.at,
    },
    { name: 'by', type: 'string', required: true, description: 'who wrote it', of: (e) => e.by },
    {
      name: 'kind',
      type: 'string',
      required: true,
      description: 'what the entry is about',
      of: (e) => e.kind,
    },
    { name: 'body', type: 'string', required: true, description: 'what it says, as JSON', of: (e) => e.body },
    {
      name: 'hash',
      type: 'string',
      required: true,
      description: 'SHA-256 over the hash before it and the entry, in hex: a changed or missing entry shows',
      of: (e) => Buffer.from(e.hash).toString('hex'),
    },
  ],
};

export const PLANTS: Table<Plant> = {
  name: 'plants',
  description: 'Every plant as it is known now.',
  primaryKey: ['id'],
  foreignKeys: [{ field: 'origin', table: 'plants', to: 'id' }],
  columns: [
    { name: 'id', type: 'string', required: true, description: 'its ID for ever', of: ({ id }) => id },
    {
      name: 'key',
      type: 'string',
      required: true,
      description: "the grower's own name for it",
      of: ({ key }) => key,
    },
    {
      name: 'kind',
      type: 'string',
      required: true,
      description: 'seedling, cutting, graft or parent',
      of: ({ kind }) => kind,
    },
    { name: 'seed_parent', type: 'string', description: 'the mother', of: (p) => p.seedParent },
    { name: 'pollen_parent', type: 'string', description: 'the father', of: (p) => p.pollenParent },
    { name: 'sown', type: 'string', description: 'day, month or year in ISO 8601', of: ({ sown }) => sown },
    {
      name: 'origin',
      type: 'string',
      description: 'the plant a cutting or graft was taken from',
      of: ({ origin }) => origin,
    },
    { name: 'station', type: 'string', description: 'where it stands', of: ({ station }) => station },
    { name: 'type', type: 'string', description: 'the type as the grower states it', of: ({ type }) => type },
    { name: 'note', type: 'string', description: 'anything else', of: ({ note }) => note },
    {
      name: 'ended',
      type: 'date',
      description: 'the day it was seen dead or was culled',
      of: ({ ended }) => ended,
    },
    {
      name: 'extra',
      type: 'string',
      description: "further columns of the grower's CSV, as JSON",
      of: ({ extra }) => JSON.stringify(extra),
    },
  ],
};

export interface TagOfPlant extends Tag {
  readonly id: string;
}

export const TAGS: Table<TagOfPlant> = {
  name: 'tags',
  description: 'Every tag that was printed.',
  primaryKey: ['id', 'issue'],
  foreignKeys: [{ field: 'id', table: 'plants', to: 'id' }],
  columns: [
    { name: 'id', type: 'string', required: true, description: 'the plant', of: ({ id }) => id },
    {
      name: 'issue',
      type: 'integer',
      required: true,
      description: "counts the plant's tags from 1",
      of: ({ issue }) => issue,
    },
    {
      name: 'status',
      type: 'string',
      required: true,
      description: 'current, superseded or void',
      of: ({ status }) => status,
    },
    {
      name: 'issued_at',
      type: 'datetime',
      required: true,
      description: 'when it was printed',
      of: (t) => t.issuedAt,
    },
    {
      name: 'reprinted_at',
      type: 'datetime',
      description: 'when it was printed once more',
      of: (t) => t.reprintedAt,
    },
    { name: 'voided_at', type: 'datetime', description: 'when it was given up', of: (t) => t.voidedAt },
    {
      name: 'voided_because',
      type: 'string',
      description: 'why it was given up',
      of: (t) => t.voidedBecause,
    },
    {
      name: 'stock',
      type: 'string',
      required: true,
      description: 'what it was printed on',
      of: ({ stock }) => stock,
    },
    {
      name: 'sheet',
      type: 'string',
      required: true,
      description: 'the PDF, in the folder sheets',
      of: ({ sheet }) => sheet,
    },
    {
      name: 'page',
      type: 'integer',
      required: true,
      description: 'page of the PDF, from 1',
      of: ({ page }) => page,
    },
    {
      name: 'row',
      type: 'integer',
      required: true,
      description: 'row of cells, from 1',
      of: ({ row }) => row,
    },
    {
      name: 'column',
      type: 'integer',
      required: true,
      description: 'column of cells, from 1',
      of: ({ column }) => column,
    },
  ],
};

export interface ObservationOfPlant extends KnownObservation {
  readonly id: string;
}

/** A trait that something was seen of, and whether only numbers were. */
export interface SeenTrait {
  readonly name: string;
  readonly isNumber: boolean;
}

const OF_OBSERVATION: readonly Column<ObservationOfPlant>[] = [
  {
    name: 'entry',
    type: 'string',
    required: true,
    description: 'its entry in the journal',
    of: ({ entry }) => entry,
  },
  { name: 'id', type: 'string', required: true, description: 'the plant', of: ({ id }) => id },
  { name: 'date', type: 'date', required: true, description: 'when it was seen', of: ({ date }) => date },
  { name: 'issue', type: 'integer', description: 'of the tag that was scanned', of: ({ issue }) => issue },
  {
    name: 'recorded_as',
    type: 'string',
    required: true,
    description: 'the plant it was recorded under',
    of: (o) => o.recordedAs,
  },
  {
    name: 'doubtful',
    type: 'boolean',
    required: true,
    description: "it may be another plant's",
    of: ({ doubtful }) => doubtful,
  },
  { name: 'by', type: 'string', required: true, description: 'who saw it', of: ({ by }) => by },
  {
    name: 'recorded_at',
    type: 'datetime',
    required: true,
    description: 'when it was recorded',
    of: (o) => o.recordedAt,
  },
  {
    name: 'photo',
    type: 'string',
    description: 'file in the folder photos',
    of: ({ photo }) => photo?.file ?? null,
  },
];

/** What was seen, a column for each trait. */
export function observationsTable(traits: readonly SeenTrait[]): Table<ObservationOfPlant> {
  const taken = new Set(OF_OBSERVATION.map(({ name }) => name));
  const columns = traits.map((trait) => {
    let name = trait.name;
    while (taken.has(name)) name = `seen_${name}`;
    taken.add(name);
    return traitColumn(trait, name);
  });
  return {
    name: 'observations',
    description: 'What was seen on each plant. What was taken back is in the journal only.',
    primaryKey: ['entry'],
    foreignKeys: [{ field: 'id', table: 'plants', to: 'id' }],
    columns: [...OF_OBSERVATION, ...columns],
  };
}

function traitColumn({ name, isNumber }: SeenTrait, column: string): Column<ObservationOfPlant> {
  const trait = TRAITS.find((known) => known.name === name);
  const unit = trait?.kind === 'number' && trait.unit !== null ? ` (${trait.unit})` : '';
  return {
    name: column,
    type: isNumber ? 'number' : 'string',
    description: `${trait?.meaning ?? `${name}, a trait of your own`}${unit}`,
    of: ({ values }) => values[name] ?? null,
  };
}
