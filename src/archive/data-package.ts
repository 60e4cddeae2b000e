/**
 * The description of an export: a Frictionless Data Package (specs.frictionlessdata.io, Data Package,
 * Tabular Data Package and Table Schema, version 1).
 */
import { createHash } from 'node:crypto';
import { createReadStream, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Column, Table } from './tables.js';

export const PACKAGE_FILE = 'datapackage.json';
export const PACKAGE_NAME = 'pottag-ledger';

/** Describes tables that were written into `folder`. */
export async function describePackage(
  folder: string,
  tables: readonly Table<never>[],
  made: { readonly at: Date; readonly title: string },
): Promise<object> {
  const resources: object[] = [];
  for (const table of tables) resources.push(await describeTable(folder, table));
  return {
    profile: 'tabular-data-package',
    name: PACKAGE_NAME,
    title: made.title,
    description:
      'A text that could be taken for a formula has an apostrophe before it, which is not part of it. Photos and printed sheets lie beside the tables in folders of their own.',
    created: made.at.toISOString(),
    resources,
  };
}

async function describeTable(folder: string, table: Table<never>): Promise<object> {
  const path = `${table.name}.csv`;
  const file = join(folder, path);
  return {
    profile: 'tabular-data-resource',
    name: table.name,
    path,
    description: table.description,
    format: 'csv',
    mediatype: 'text/csv',
    encoding: 'utf-8',
    bytes: statSync(file).size,
    hash: `sha256:${await sha256Of(file)}`,
    schema: {
      fields: table.columns.map(describeColumn),
      primaryKey: table.primaryKey,
      ...(table.foreignKeys.length === 0
        ? {}
        : { foreignKeys: table.foreignKeys.map(describeKey(table.name)) }),
    },
  };
}

/** The default format of a datetime has whole seconds; ours have milliseconds. */
const DATETIME_FORMAT = '%Y-%m-%dT%H:%M:%S.%fZ';

function describeColumn({ name, type, description, required }: Column<never>): object {
  return {
    name,
    type,
    ...(type === 'datetime' ? { format: DATETIME_FORMAT } : {}),
    description,
    ...(required === undefined ? {} : { constraints: { required } }),
  };
}

/** A table refers to itself by an empty name (Table Schema, "foreign keys"). */
function describeKey(own: string): (key: Table<never>['foreignKeys'][number]) => object {
  return ({ field, table, to }) => ({
    fields: field,
    reference: { resource: table === own ? '' : table, fields: to },
  });
}

export async function sha256Of(file: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(file)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}
