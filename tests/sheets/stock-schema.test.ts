import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { stockJsonSchema } from '../../src/sheets/stock.js';
import { shippedStocksFolder } from '../../src/sheets/stock-files.js';

// After a change of the schema write the file anew:
// npx tsx -e "import { stockJsonSchema } from './src/sheets/stock.ts'; console.log(JSON.stringify(stockJsonSchema()))" \
//   > layouts/stock.schema.json && npx biome format --write layouts
test('layouts/stock.schema.json is the JSON Schema of the zod schema', () => {
  const file = join(shippedStocksFolder(), 'stock.schema.json');
  expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual(stockJsonSchema());
});
