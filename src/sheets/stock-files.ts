/** Finds stocks in folders of JSON files: those that ship, and a ledger's own. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { InputError, type Problem } from '../errors.js';
import { nearest } from '../wording.js';
import type { Stock } from './stock.js';
import { checkStock } from './stock-check.js';
import { SCHEMA_FILE } from './stock-folder.js';

export { shippedStocksFolder } from './stock-folder.js';

interface ListedStock {
  readonly name: string;
  readonly file: string;
  /** Null where the file cannot be read or says none. */
  readonly description: string | null;
  /** None: it can be used. */
  readonly problems: readonly Problem[];
}

/**
 * The stock of this name. Of folders that have it the last in the list wins, so a ledger's own file
 * takes the place of a shipped one of its name, and one shipped later never displaces it.
 *
 * Throws `InputError`: `unknown-stock` with a near miss, `bad-stock` with every problem, or `no-folder`.
 */
export function loadStock(name: string, folders: readonly string[]): Stock {
  const files = stockFiles(folders);
  const file = files.get(name);
  if (file === undefined) throw unknownStock(name, [...files.keys()]);
  const { stock, problems } = checkStockFile(file);
  if (problems.length > 0 || stock === undefined) {
    const [first] = problems;
    const what =
      problems.length === 1 ? `${first?.column ?? 'it'} ${first?.problem}` : `${problems.length} problems`;
    throw new InputError(
      'bad-stock',
      `Stock "${name}" cannot be used: ${what}.`,
      `Correct the file; pottag stocks --check ${file} looks at it again.`,
      { file },
      problems,
    );
  }
  return stock;
}

/** The stock that a file describes, and all that is wrong with it. Throws `InputError` as `readStockFile`. */
export function checkStockFile(file: string): {
  readonly stock: Stock | undefined;
  readonly problems: Problem[];
} {
  const { stock, problems } = checkStock(readStockFile(file));
  if (stock !== undefined && `${stock.name}.json` !== basename(file)) {
    const problem = `is "${stock.name}", but the file is "${basename(file)}"`;
    problems.push({ line: null, column: 'name', problem });
  }
  return { stock, problems };
}

/** All stocks of the folders by name; of two with one name the one that `loadStock` takes. Throws as it does. */
export function listStocks(folders: readonly string[]): ListedStock[] {
  return [...stockFiles(folders)].map(([name, file]) => {
    try {
      const { stock, problems } = checkStockFile(file);
      return { name, file, description: stock?.description ?? null, problems };
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      const problems = [{ line: null, column: null, problem: error.message }];
      return { name, file, description: null, problems };
    }
  });
}

/** Throws `InputError`: `no-file` or `not-json`. */
function readStockFile(file: string): unknown {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    throw new InputError('no-file', `"${file}" cannot be read.`, 'Check the path.', { file }, [], {
      cause: error,
    });
  }
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    throw new InputError(
      'not-json',
      `"${file}" is not JSON: ${error instanceof Error ? error.message : String(error)}.`,
      'Correct the file; an editor with a JSON mode shows the place.',
      { file },
      [],
      { cause: error },
    );
  }
}

function stockFiles(folders: readonly string[]): Map<string, string> {
  const files = new Map<string, string>();
  for (const folder of folders) {
    if (!existsSync(folder)) continue;
    for (const entry of entriesOf(folder)) {
      if (entry.endsWith('.json') && entry !== SCHEMA_FILE) {
        files.set(entry.slice(0, -'.json'.length), join(folder, entry));
      }
    }
  }
  return new Map([...files].sort(([a], [b]) => a.localeCompare(b, 'en', { numeric: true })));
}

function entriesOf(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    throw new InputError(
      'no-folder',
      `"${folder}" is no folder that can be read, and stock files are looked for in it.`,
      'Move away what has its name, or let yourself read it, and call again.',
      { file: folder },
      [],
      { cause: error },
    );
  }
}

function unknownStock(name: string, known: readonly string[]): InputError {
  const near =
    nearest(name, known) ?? known.find((other) => name !== '' && other.startsWith(name.toLowerCase()));
  const meant = near === undefined ? '' : `Did you mean ${near}? `;
  return new InputError(
    'unknown-stock',
    `There is no stock "${name}".`,
    `${meant}Stocks: ${known.join(', ')}.`,
  );
}
