/**
 * Which character parts the cells: what a `sep=` line says, else what fits the first rows best.
 */
import { quotedCellAt } from './quotes.js';

/** Best first where two fit equally well: a comma is the likeliest to stand in a note or a number. */
const CANDIDATES = ['\t', ';', ','] as const;

const SAMPLE_RECORDS = 50;

/** Little, for a wrong delimiter leaves stray quotes; not nothing, for so does every `6" pot`. */
const STRAY_QUOTE_WEIGHT = 0.1;

/** A first line such as `sep=;`, which spreadsheets understand and leave out of the table. */
export interface SeparatorLine {
  readonly delimiter: string;
  /** Index in the text of the line after it. */
  readonly end: number;
}

export function findSeparatorLine(text: string): SeparatorLine | undefined {
  const found = /^(?:sep=([^\w\s"]|\t)|"sep=([^\w\s"]|\t)")(?:\r\n|\n|\r|$)/i.exec(text);
  const delimiter = found?.[1] ?? found?.[2];
  return found && delimiter ? { delimiter, end: found[0].length } : undefined;
}

/**
 * The delimiter of a table that begins at the start of `text`. A heading may hold commas ("Name, given")
 * and every number may (1,5), so what counts is how many cells the rows have that the headings allow for.
 */
export function detectDelimiter(text: string): string {
  let best: { readonly delimiter: string; readonly score: number } = { delimiter: ',', score: 0 };
  for (const delimiter of CANDIDATES) {
    const score = scoreDelimiter(text, delimiter);
    if (score > best.score) best = { delimiter, score };
  }
  return best.delimiter;
}

function scoreDelimiter(text: string, delimiter: string): number {
  const [headings, ...rows] = countCells(text, delimiter);
  if (!headings) return 0;
  let score = (headings.count - 1) / 2;
  for (const row of rows) {
    // Cells beyond the headings speak against a delimiter, but mildly: a last heading is often missing.
    const beyond = Math.max(0, row.filled - headings.count);
    score += (Math.min(row.count, headings.count) - 1 - beyond / 2) * weight(row);
  }
  return score * weight(headings);
}

function weight(record: CellCount): number {
  return record.hasStrayQuote ? STRAY_QUOTE_WEIGHT : 1;
}

interface CellCount {
  readonly count: number;
  /** Cells up to the last that is not blank. */
  readonly filled: number;
  /** Whether an unquoted cell holds a quote, as when a quoted cell is cut in two. */
  readonly hasStrayQuote: boolean;
}

/** Of the first records that are not blank, up to where the quoting makes no sense with this delimiter. */
function countCells(text: string, delimiter: string): CellCount[] {
  const counts: CellCount[] = [];
  let count = 1;
  let filled = 0;
  let hasStrayQuote = false;
  let cellStart = 0;
  const endRecord = () => {
    if (filled > 0) counts.push({ count, filled, hasStrayQuote });
    count = 1;
    filled = 0;
    hasStrayQuote = false;
  };
  let index = 0;
  while (index < text.length && counts.length < SAMPLE_RECORDS) {
    const character = text[index] as string;
    if (character === '"' && index === cellStart) {
      const cell = quotedCellAt(text, delimiter, index);
      if (cell.kind !== 'closed') return counts;
      if (cell.end > cell.start + 2) filled = count;
      index = cell.end;
      continue;
    }
    index++;
    if (character === delimiter) {
      count++;
      cellStart = index;
    } else if (character === '\n' || character === '\r') {
      endRecord();
      cellStart = index;
    } else {
      if (character === '"') hasStrayQuote = true;
      if (character.trim() !== '') filled = count;
    }
  }
  endRecord();
  return counts;
}
