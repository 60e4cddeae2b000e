/**
 * A grower's own CSV again, with the IDs in it.
 */

import { tidy } from '../wording.js';
import { countLineEnds } from './decode.js';
import type { PlantSource } from './rows.js';

/** Headings that all read back as the ID. */
const ID_HEADINGS = ['id', 'plant_id', 'pottag_id'] as const;

/**
 * The same columns, order, delimiter, line ends and cells, rows with problems too. The IDs go into the
 * file's `id` column, or else into a new first one; a row that has no ID in `idOfLine` keeps its cell.
 * Every row stays in its line: blank rows come out as blank lines.
 *
 * @param idOfLine line of a row → its plant's ID
 * @returns text without a byte-order mark
 */
export function csvWithIds(source: PlantSource, idOfLine: ReadonlyMap<number, string>): string {
  const { table, columns } = source;
  const idColumn = columns.fields.get('id');
  const lines: string[] = table.hasSeparatorLine ? [`sep=${table.delimiter}`] : [];
  let line = lines.length + 1;
  const put = (at: number, cells: readonly string[]) => {
    for (; line < at; line++) lines.push('');
    lines.push(cells.map((cell) => writeCell(cell, table.delimiter)).join(table.delimiter));
    line++;
    for (const cell of cells) line += countLineEnds(cell);
  };
  const headings = table.headings.map((heading, index) => {
    // A column that is known by its place alone would be another one beside the IDs.
    const isKept = idColumn === undefined && columns.extra.includes(index) && tidy(heading) === '';
    return isKept && table.records.some(({ cells }) => (cells[index] ?? '').trim() !== '')
      ? (columns.labels[index] ?? '')
      : heading;
  });
  put(table.headingLine, idColumn === undefined ? [newHeading(headings), ...headings] : headings);
  for (const record of table.records) {
    const cells = [...record.cells];
    const id = idOfLine.get(record.line);
    if (idColumn === undefined) cells.unshift(id ?? '');
    else if (id !== undefined) {
      while (cells.length < idColumn) cells.push('');
      cells[idColumn] = id;
    }
    put(record.line, cells);
  }
  return `${lines.join(table.newline)}${table.newline}`;
}

/** One that the file has not: a grower's own `ID` column may be the key. */
function newHeading(headings: readonly string[]): string {
  const used = new Set(headings.map((heading) => tidy(heading).toLowerCase()));
  return ID_HEADINGS.find((heading) => !used.has(heading)) ?? ID_HEADINGS[0];
}

/**
 * A grower's own cells come out as they went in, formulas too: they are theirs, and the file has to be read
 * again. Quotes also white space at either end, which some programs would strip.
 */
export function writeCell(cell: string, delimiter: string): string {
  if (!/["\r\n]|^\s|\s$/.test(cell) && !cell.includes(delimiter)) return cell;
  return `"${cell.replaceAll('"', '""')}"`;
}
