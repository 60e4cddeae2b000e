/**
 * `npm run golden`: draws docs/tags and the characters that damaged tags are held against anew. Look at what
 * changed before you commit it.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { shippedStocks } from '../sheets/samples.js';
import { goldenPicture, goldenPlaces, pngOf } from './draw.js';
import { drawShapes, SHAPES_FILE } from './glyph-shapes.js';

const folder = join(import.meta.dirname, '../../docs/tags');
mkdirSync(folder, { recursive: true });
for (const stock of shippedStocks) {
  writeFileSync(join(folder, `${stock.name}.txt`), await goldenPlaces(stock));
  writeFileSync(join(folder, `${stock.name}.png`), await pngOf(await goldenPicture(stock)));
  console.log(stock.name);
}
writeFileSync(SHAPES_FILE, await drawShapes());
