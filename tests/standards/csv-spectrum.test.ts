/**
 * Every file of csv-spectrum 2.0.0 (BSD-2-Clause, github.com/maxogden/csv-spectrum), a collection of CSV
 * oddities, each with the JSON it must read as.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { expect, test } from 'vitest';
import { parseCsv } from '../../src/plants/csv.js';
import { decodeText } from '../../src/plants/decode.js';

const folder = dirname(createRequire(import.meta.url).resolve('csv-spectrum/package.json'));
const names = readdirSync(join(folder, 'csvs')).map((file) => file.replace(/\.csv$/, ''));

/** Where the collection's JSON differs from its own CSV: the CSV holds this number, the JSON another. */
const SLIPS: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  location_coordinates: { 'Contact Phone Number': '2095257564' },
};

test('the collection is there', () => {
  expect(names.length).toBe(12);
});

test.each(names)('%s', (name) => {
  const csv = readFileSync(join(folder, 'csvs', `${name}.csv`));
  const json = JSON.parse(readFileSync(join(folder, 'json', `${name}.json`), 'utf8'));
  const expected = [json].flat().map((row) => ({ ...row, ...SLIPS[name] }));
  for (const text of Object.values(SLIPS[name] ?? {})) expect(csv.toString()).toContain(text);

  const { headings, records } = parseCsv(decodeText(csv, name).text, name);
  const rows = records.map(({ cells }) =>
    Object.fromEntries(headings.map((heading, index) => [heading, cells[index] ?? ''])),
  );
  expect(rows).toEqual(expected);
});
