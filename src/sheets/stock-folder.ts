/** Where the stocks that ship are. It knows nothing else, so that a command's help can name the place. */
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Generated beside the shipped stocks for editors; not a stock. */
export const SCHEMA_FILE = 'stock.schema.json';

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
