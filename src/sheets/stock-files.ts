/** Finds stocks in folders of JSON files: those that ship, and a ledger's own. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { InputError, type Problem } from '../errors.js';
import { type Stock, stockSchema } from './stock.js';
import { checkStock } from './stock-check.js';

/** Generated beside the shipped stocks for editors; not a stock. */
const SCHEMA_FILE = 'stock.schema.json';

export interface ListedStock {
  readonly name: string;
  readonly file: string;
  /** Null where the file has problems; `loadStock` says which. */
  readonly description: string | null;
}

/** The folder of the stocks that ship, from the sources and from the bundle alike. */
export function shippedStocksFolder(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) {
    const parent = dirname(folder);
    if (parent === folder) throw new Error('the package of this file has no package.json');
    folder = parent;
  }
  return join(folder, 'layouts');
}

/**
 * The stock of this name. Of folders that have it the last in the list wins, so a ledger's own file
 * takes the place of a shipped one of its name, and one shipped later never displaces it.
 *
 * Throws `InputError`: `unknown-stock` with near misses, or `bad-stock` with every problem.
 */
export function loadStock(name: string, folders: readonly string[]): Stock {
  const file = stockFiles(folders).get(name);
  if (file === undefined) throw unknownStock(name, [...stockFiles(folders).keys()]);
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
  const json = readStockFile(file);
  const problems = checkStock(json);
  const stock = stockSchema.safeParse(json).data;
  if (stock !== undefined && `${stock.name}.json` !== basename(file)) {
    const problem = `is "${stock.name}", but the file is "${basename(file)}"`;
    problems.push({ line: null, column: 'name', problem });
  }
  return { stock, problems };
}

/** All stocks of the folders by name; of two with one name the one that `loadStock` takes. */
export function listStocks(folders: readonly string[]): ListedStock[] {
  return [...stockFiles(folders)].map(([name, file]) => {
    let description: string | null = null;
    try {
      description = stockSchema.safeParse(readStockFile(file)).data?.description ?? null;
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
    }
    return { name, file, description };
  });
}

/** Throws `InputError`: `no-file` or `not-json`. */
export function readStockFile(file: string): unknown {
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
    for (const entry of readdirSync(folder)) {
      if (entry.endsWith('.json') && entry !== SCHEMA_FILE) {
        files.set(entry.slice(0, -'.json'.length), join(folder, entry));
      }
    }
  }
  return new Map([...files].sort(([a], [b]) => a.localeCompare(b, 'en', { numeric: true })));
}

function unknownStock(name: string, known: readonly string[]): InputError {
  const near = known
    .map((other) => ({ other, distance: editDistance(name.toLowerCase(), other) }))
    .filter(({ other, distance }) => distance <= 3 || other.startsWith(name.toLowerCase()))
    .sort((a, b) => a.distance - b.distance)
    .slice(0, 3)
    .map(({ other }) => other);
  const meant = near.length > 0 ? `Did you mean ${near.join(' or ')}? ` : '';
  return new InputError(
    'unknown-stock',
    `There is no stock "${name}".`,
    `${meant}Stocks: ${known.join(', ')}.`,
  );
}

/** Insertions, deletions and replacements from one word to the other (Levenshtein). */
function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const replaced = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(replaced, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[b.length] ?? 0;
}
